import type { PackedHeader } from './cells/packed-header.js';
import { packRows, visitRows } from './cells/packed-rows.js';
import { type MeasuredBatch, type Measurement, QUANTA_PER_METRE } from './contract/measurement.js';

/** Points by second of GPS time, while they are counted. */
export interface PointSecondsState {
  /** Second (floor of the time) -> points, and their extent in quanta: min east, min north, max east, max north. */
  seconds: Map<number, Float64Array>;
}

/** Points of the delivery by second of GPS time as stored, ascending; one entry for each second with points. */
export interface PointSeconds {
  /** First moment of each second: a whole number. */
  second: Float64Array;
  points: Float64Array;
  /** Middle of the extent of its points, world metres. */
  x: Float64Array;
  y: Float64Array;
}

const HEADER = { id: 'point-seconds', version: 1 } as const satisfies PackedHeader;

/** When points were recorded: the valid points of each second of GPS time, and where they are. */
export const pointSeconds: Measurement<'point-seconds', null, PointSecondsState, PointSeconds> = {
  id: HEADER.id,
  parameters: {},
  version: HEADER.version,
  columns: () => ['gpsTime'],
  create: () => ({ seconds: new Map() }),
  add: addBatch,
  pack: ({ seconds }) => packRows(HEADER, seconds),

  merge({ seconds }, packed) {
    visitRows(packed, HEADER, (second, row) => {
      const known = seconds.get(second);
      if (!known) {
        seconds.set(second, row.slice());
        return;
      }
      known[0] += row[0];
      for (let k = 1; k < 3; k++) known[k] = Math.min(known[k], row[k]);
      for (let k = 3; k < 5; k++) known[k] = Math.max(known[k], row[k]);
    });
  },

  finish({ seconds }) {
    const second = Float64Array.from(seconds.keys()).sort();
    const rows = Array.from(second, (key) => seconds.get(key)!);
    return {
      second,
      points: Float64Array.from(rows, (row) => row[0]),
      x: Float64Array.from(rows, (row) => (row[1] + row[3]) / 2 / QUANTA_PER_METRE),
      y: Float64Array.from(rows, (row) => (row[2] + row[4]) / 2 / QUANTA_PER_METRE),
    };
  },
};

function addBatch({ seconds }: PointSecondsState, batch: MeasuredBatch): void {
  if (!batch.points.has.has('gpsTime')) return;
  const { gpsTime } = batch.points;
  const { east, north, valid, count } = batch;
  let begin = Number.NaN;
  let row: Float64Array | null = null;
  for (let i = 0; i < count; i++) {
    if (valid[i] === 0) continue;
    const t = gpsTime[i];
    // Most points follow another of their second.
    if (!(t >= begin && t < begin + 1)) {
      begin = Math.floor(t);
      row = Number.isFinite(begin) ? open(seconds, begin) : null;
    }
    if (row === null) continue;
    row[0]++;
    if (east[i] < row[1]) row[1] = east[i];
    if (north[i] < row[2]) row[2] = north[i];
    if (east[i] > row[3]) row[3] = east[i];
    if (north[i] > row[4]) row[4] = north[i];
  }
}

function open(seconds: Map<number, Float64Array>, second: number): Float64Array {
  const known = seconds.get(second);
  if (known) return known;
  const row = Float64Array.of(
    0,
    Number.POSITIVE_INFINITY,
    Number.POSITIVE_INFINITY,
    Number.NEGATIVE_INFINITY,
    Number.NEGATIVE_INFINITY,
  );
  seconds.set(second, row);
  return row;
}
