import type { Route, RouteLine } from '../../delivery/route.js';
import type { Drive } from '../../delivery/trajectory.js';
import { zoneByName } from '../../delivery/zones.js';
import { LineIndex, pointAt } from '../../geometry/nearest-on-line.js';
import { polygonIndexOf } from '../../geometry/polygon-index.js';
import type { PassCells } from '../../measure/pass-cells.js';
import type { JudgeContext } from '../contract/check.js';
import { leftOutStretches, type StationStretchOption } from './left-out.js';

/** A piece of a line of the route. */
export interface Piece {
  /** Place of the line in the route, and of the piece on the line. */
  line: number;
  index: number;
  /** Metres from the begin of the line, and length. */
  from: number;
  to: number;
  metres: number;
  /** World coordinates of its middle, metres. */
  x: number;
  y: number;
  /** Whether there are points near its line. */
  points: boolean;
  /** Passes of a drive, or of points where there is no trajectory; and how many were planned, null where that is not stated. */
  passes: number;
  planned: number | null;
  /** Whether a drive passed, null without a trajectory; and in the planned direction, null where none is stated. */
  driven: boolean | null;
  inDirection: boolean | null;
}

/** What pieces are made with. */
export interface PieceOptions {
  width: number;
  step: number;
  lanesPerPass?: number;
  trackWidth: number;
  leaveOut?: StationStretchOption[];
  zone?: string;
}

/** Positions of a drive nearer than this to one another add nothing, metres. */
const TRACK_STEP = 1;
/** A drive that leaves a line for this distance and comes back passes it a second time, metres. */
const NEW_PASS = 100;

/** The pieces of the route to be judged: those in the zone, without the stretches left out. */
export function piecesOf(route: Route, cells: PassCells, options: PieceOptions, { delivery }: JudgeContext): Piece[] {
  const leftOut = leftOutStretches(options.leaveOut, route);
  const zone = options.zone === undefined ? null : polygonIndexOf(zoneByName(delivery, options.zone).polygons);
  const { trajectory } = delivery;
  return route.lines.flatMap((line, number) => {
    const index = new LineIndex(line);
    const length = line.distance[line.distance.length - 1];
    const count = Math.max(1, Math.round(length / options.step));
    const size = length / count;
    const seen = passesByPiece(index, cells, options.width, size, count);
    const tracks = trajectory ? tracksByPiece(index, trajectory.drives, options.trackWidth, size, count) : null;
    const planned = line.plannedPasses ?? plannedByLanes(line, options.lanesPerPass);
    return Array.from({ length: count }, (_, i): Piece => {
      const { x, y } = pointAt(line, (i + 0.5) * size);
      const along = tracks?.along[i] ?? 0;
      const against = tracks?.against[i] ?? 0;
      return {
        line: number,
        index: i,
        from: i * size,
        to: (i + 1) * size,
        metres: size,
        x,
        y,
        points: seen[i].size > 0,
        passes: tracks ? along + against : seen[i].size,
        planned,
        driven: tracks ? along + against > 0 : null,
        inDirection: tracks ? isInDirection(line.direction, along, against) : null,
      };
    }).filter(({ x, y, from, to }) => {
      const middle = (from + to) / 2;
      if (zone && !zone.holds(x, y)) return false;
      return !leftOut.some((one) => one.line === number && middle >= one.from && middle <= one.to);
    });
  });
}

/** The passes with points near each piece. */
function passesByPiece(index: LineIndex, cells: PassCells, width: number, size: number, count: number): Set<number>[] {
  const seen = Array.from({ length: count }, () => new Set<number>());
  for (let i = 0; i < cells.column.length; i++) {
    const [x, y] = [(cells.column[i] + 0.5) * cells.cell, (cells.row[i] + 0.5) * cells.cell];
    const found = index.nearest(x, y, width);
    if (!found || found.beyond > 0) continue;
    const piece = seen[Math.min(count - 1, Math.floor(found.distance / size))];
    for (const pass of cells.sets[cells.set[i]]) piece.add(pass);
  }
  return seen;
}

/** Number of times that drives passed each piece, along the line and against it. */
function tracksByPiece(index: LineIndex, drives: readonly Drive[], width: number, size: number, count: number) {
  const along = new Float64Array(count);
  const against = new Float64Array(count);
  for (const { x, y, epochs } of drives) {
    let [lastX, lastY, lastPiece, sense, off] = [x[0], y[0], -1, 0, 0];
    for (let i = 0; i < epochs; i++) {
      const moved = Math.hypot(x[i] - lastX, y[i] - lastY);
      if (i > 0 && moved < TRACK_STEP) continue;
      const found = index.nearest(x[i], y[i], width);
      const on = found && found.beyond === 0;
      off = on ? off : off + moved;
      if (off > NEW_PASS) lastPiece = -1;
      if (on) {
        off = 0;
        const piece = Math.min(count - 1, Math.floor(found.distance / size));
        const { ux, uy } = pointAt(index.line, found.distance);
        const forward = (x[i] - lastX) * ux + (y[i] - lastY) * uy;
        const now = forward === 0 ? sense : Math.sign(forward);
        if (now !== 0 && (piece !== lastPiece || now !== sense)) {
          const counts = now > 0 ? along : against;
          // A drive at high speed passes pieces between two positions too.
          const from = lastPiece >= 0 && now === sense && (piece - lastPiece) * now > 0 ? lastPiece + now : piece;
          for (let p = from; (piece - p) * now >= 0; p += now) counts[p]++;
          [lastPiece, sense] = [piece, now];
        }
      }
      [lastX, lastY] = [x[i], y[i]];
    }
  }
  return { along, against };
}

function isInDirection(direction: RouteLine['direction'], along: number, against: number): boolean | null {
  if (direction === null) return null;
  return (direction === 'against' || along > 0) && (direction === 'along' || against > 0);
}

/** Planned passes from lanes: lanes divided by the lanes that one pass serves, rounded up; null where either is not stated. */
function plannedByLanes({ lanes }: RouteLine, lanesPerPass: number | undefined): number | null {
  return lanes === null || lanesPerPass === undefined ? null : Math.ceil(lanes / lanesPerPass);
}
