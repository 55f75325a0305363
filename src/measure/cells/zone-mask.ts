import { RingIndex } from '../../geometry/polygon-index.js';
import { type MeasuredBatch, QUANTA_PER_METRE } from '../contract/measurement.js';
import { KeyTable } from './key-table.js';

/** The area in which points count, in world metres. Plain numbers, so that it can be part of a measurement's parameters. */
export interface MaskArea {
  /** Rings as x, y, x, y ...; the first vertex may be repeated at the end. */
  polygons: { outer: number[]; holes: number[][] }[];
  /** Distance around the polygons that still counts as inside, metres. */
  margin: number;
}

/** Edge of the square cells that are wholly inside, wholly outside or cut, quanta. */
const SIDE = 2 * QUANTA_PER_METRE;
/** Offsets of the reference location from the middle of a cell: two odd numbers, so that hardly any polygon has a vertex or an edge there. */
const ODD_X = 0.283_185_307_179;
const ODD_Y = 0.718_281_828_459;
const OUTSIDE = -1;
const INSIDE = -2;

/** The part of one polygon that matters in a cell which its outline crosses. */
interface CutPolygon {
  /** For each ring that matters here: whether the reference location is inside, and the edges nearby (4 numbers each). */
  inside: Uint8Array;
  edges: Float64Array[];
}

/** An area prepared for many points. A cell is classified when the first point falls into it; the answer is kept. */
export interface ZoneMask {
  originX: number;
  originY: number;
  margin: number;
  /** Quanta from the origin of the mask. */
  polygons: RingIndex[][];
  cells: KeyTable;
  /** OUTSIDE, INSIDE, or the index in `cut`. */
  kinds: number[];
  cut: CutPolygon[][];
}

const known = new WeakMap<MaskArea, ZoneMask>();

/** The mask of an area; made once for each area object. */
export function zoneMaskOf(area: MaskArea): ZoneMask {
  const found = known.get(area);
  if (found) return found;
  const [x, y] = area.polygons[0]?.outer ?? [0, 0];
  const originX = Math.round(x * QUANTA_PER_METRE);
  const originY = Math.round(y * QUANTA_PER_METRE);
  const ring = (metres: readonly number[]): RingIndex => {
    const closed = metres.length > 2 && metres[0] === metres.at(-2) && metres[1] === metres.at(-1);
    const open = closed ? metres.slice(0, -2) : metres;
    return new RingIndex(Float64Array.from(open, (v, i) => v * QUANTA_PER_METRE - (i % 2 === 0 ? originX : originY)));
  };
  const mask: ZoneMask = {
    originX,
    originY,
    margin: area.margin * QUANTA_PER_METRE,
    polygons: area.polygons.map(({ outer, holes }) => [ring(outer), ...holes.map(ring)]),
    cells: new KeyTable(),
    kinds: [],
    cut: [],
  };
  known.set(area, mask);
  return mask;
}

/**
 * Marks with 1 the points of the batch that `from` marks and that lie in the area: inside any polygon by the half-open
 * rule of pointInRing, or within the margin of one. Exact, except that a point on a slanted edge may be counted on either side.
 * Only points in cells that the outline crosses are compared with edges, and only with those nearby.
 */
export function markInside(mask: ZoneMask, batch: MeasuredBatch, from: Uint8Array, marked: Uint8Array): void {
  const { east, north, count } = batch;
  const { originX, originY } = mask;
  let cellX = Number.NaN;
  let cellY = Number.NaN;
  let kind = OUTSIDE;
  for (let i = 0; i < count; i++) {
    if (from[i] === 0) {
      marked[i] = 0;
      continue;
    }
    const x = east[i] - originX;
    const y = north[i] - originY;
    const dx = x - cellX;
    const dy = y - cellY;
    if (!(dx >= 0 && dx < SIDE && dy >= 0 && dy < SIDE)) {
      const column = Math.floor(x / SIDE);
      const row = Math.floor(y / SIDE);
      cellX = column * SIDE;
      cellY = row * SIDE;
      kind = kindOf(mask, column, row);
    }
    if (kind === INSIDE) marked[i] = 1;
    else if (kind === OUTSIDE) marked[i] = 0;
    else marked[i] = inCut(mask, kind, cellX, cellY, x, y) ? 1 : 0;
  }
}

function kindOf(mask: ZoneMask, column: number, row: number): number {
  // Beyond 32-bit cells (4 million km) nothing is inside.
  if (column !== (column | 0) || row !== (row | 0)) return OUTSIDE;
  const index = mask.cells.add(column, row, 0, 0);
  if (index === mask.kinds.length) mask.kinds.push(lookAt(mask, column * SIDE, row * SIDE));
  return mask.kinds[index];
}

function lookAt(mask: ZoneMask, cellX: number, cellY: number): number {
  const rx = cellX + SIDE / 2 + ODD_X;
  const ry = cellY + SIDE / 2 + ODD_Y;
  // Half the diagonal of a cell, and two quanta for the odd parts.
  const radius = SIDE * Math.SQRT1_2 + 2 + mask.margin;
  const cut: CutPolygon[] = [];
  for (const rings of mask.polygons) {
    const inside = Uint8Array.from(rings, (ring) => (ring.holds(rx, ry) ? 1 : 0));
    const edges = rings.map((ring) => ring.edgesNear(rx, ry, radius, squaredDistance));
    if (edges.some((list) => list.length > 0)) cut.push({ inside, edges });
    else if (inside[0] === 1 && !inside.includes(1, 1)) return INSIDE;
  }
  if (cut.length === 0) return OUTSIDE;
  mask.cut.push(cut);
  return mask.cut.length - 1;
}

function inCut(mask: ZoneMask, kind: number, cellX: number, cellY: number, x: number, y: number): boolean {
  const polygons = mask.cut[kind];
  for (let p = 0; p < polygons.length; p++) {
    const { inside, edges } = polygons[p];
    let within = sideOf(inside[0], edges[0], cellX, cellY, x, y) === 1;
    for (let r = 1; r < edges.length && within; r++)
      if (sideOf(inside[r], edges[r], cellX, cellY, x, y) === 1) within = false;
    if (within || (mask.margin > 0 && isNear(edges, mask, x, y))) return true;
  }
  return false;
}

/**
 * Whether x, y is inside a ring, from the side of the reference location and the edges crossed on the way there: first
 * straight up or down, then straight across. It is given whole numbers only: the engine allocates memory for each fraction
 * that is handed to a function.
 */
function sideOf(inside: number, edges: Float64Array, cellX: number, cellY: number, x: number, y: number): number {
  const rx = cellX + SIDE / 2 + ODD_X;
  const ry = cellY + SIDE / 2 + ODD_Y;
  let side = inside;
  for (let k = 0; k < edges.length; k += 4) {
    const ax = edges[k];
    const ay = edges[k + 1];
    const bx = edges[k + 2];
    const by = edges[k + 3];
    if (ax > rx !== bx > rx) {
      const at = ax < bx ? ay + ((rx - ax) * (by - ay)) / (bx - ax) : by + ((rx - bx) * (ay - by)) / (ax - bx);
      if (at > ry !== at > y) side ^= 1;
    }
    if (ay > y !== by > y) {
      const at = ay < by ? ax + ((y - ay) * (bx - ax)) / (by - ay) : bx + ((y - by) * (ax - bx)) / (ay - by);
      if (at > rx !== at > x) side ^= 1;
    }
  }
  return side;
}

function isNear(edges: readonly Float64Array[], { margin }: ZoneMask, x: number, y: number): boolean {
  for (let r = 0; r < edges.length; r++) {
    const list = edges[r];
    for (let k = 0; k < list.length; k += 4) {
      if (squaredDistance(list[k], list[k + 1], list[k + 2], list[k + 3], x, y) <= margin * margin) return true;
    }
  }
  return false;
}

/** Distance from a location to an edge. */
function squaredDistance(ax: number, ay: number, bx: number, by: number, x: number, y: number): number {
  const dx = bx - ax;
  const dy = by - ay;
  const length = dx * dx + dy * dy;
  const t = length > 0 ? Math.max(0, Math.min(1, ((x - ax) * dx + (y - ay) * dy) / length)) : 0;
  const ox = x - ax - t * dx;
  const oy = y - ay - t * dy;
  return ox * ox + oy * oy;
}
