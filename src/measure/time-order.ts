import { KeyTable } from './cells/key-table.js';
import { headerBytes, type PackedHeader, readHeader, writeHeader } from './cells/packed-header.js';
import { type MeasuredBatch, type Measurement, QUANTA_PER_METRE } from './contract/measurement.js';

/** Steps back in time of one scanner channel of one pass in one file, in the order in which the file holds its points. */
export interface TimeOrderRow {
  file: number;
  pass: number;
  channel: number;
  /** Points earlier than the one before them of the same pass and channel. */
  steps: number;
  /** The largest step back, seconds, and where it leads; world metres. Null when there is none. */
  largest: { seconds: number; x: number; y: number } | null;
}

/**
 * For each pass and channel: first and last time, steps back, the largest of them, the ordinal of the point it leads to and
 * that point's east and north; and the first point's ordinal, east and north, needed when what comes before is joined on.
 */
const FIGURES = 10;
const FIRST = 0;
const LAST = 1;
const STEPS = 2;
const LARGEST = 3;
const LARGEST_AT = 4;
const FIRST_AT = 7;

/** Points `begin` to `end` (not included) of a file, none missing. */
interface Stretch {
  begin: number;
  end: number;
  /** Keys: pass, channel, 0, 0. */
  lanes: KeyTable;
  figures: Float64Array;
}

/** Stretches of GPS time by file, while they are collected. */
export interface TimeOrderState {
  /** For each file its stretches by `begin`; stretches that touch are one. */
  files: Map<number, Stretch[]>;
}

const HEADER = { id: 'time-order', version: 2 } as const satisfies PackedHeader;

/**
 * Time going backwards in the order of a file. Where two stretches meet, their first and last times are compared, and every
 * point belongs to exactly one place in its file: so stretches can be joined in any order and the result is that of reading
 * the file from front to back. A stretch that was never read leaves a place where nothing is compared.
 */
export const timeOrder: Measurement<'time-order', null, TimeOrderState, TimeOrderRow[]> = {
  id: HEADER.id,
  parameters: {},
  version: HEADER.version,
  columns: () => ['gpsTime', 'scannerChannel'],
  create: () => ({ files: new Map() }),

  add(state, batch) {
    if (batch.count > 0 && batch.points.has.has('gpsTime')) insert(state, batch.file, stretchOf(batch));
  },

  pack(state) {
    const order = [...state.files.keys()].sort((a, b) => a - b);
    const stretches = order.flatMap((file) => state.files.get(file)!.map((stretch) => ({ file, stretch })));
    const size = stretches.reduce((sum, { stretch }) => sum + 4 + stretch.lanes.size * (2 + FIGURES), 0);
    const buffer = new ArrayBuffer(headerBytes(1) + size * 8);
    writeHeader(buffer, HEADER, [stretches.length]);
    const out = new Float64Array(buffer, headerBytes(1));
    let at = 0;
    for (const { file, stretch } of stretches) {
      out.set([file, stretch.begin, stretch.end, stretch.lanes.size], at);
      at += 4;
      for (const lane of stretch.lanes.sorted()) {
        out.set([stretch.lanes.part(lane, 0), stretch.lanes.part(lane, 1)], at);
        out.set(stretch.figures.subarray(lane * FIGURES, (lane + 1) * FIGURES), at + 2);
        at += 2 + FIGURES;
      }
    }
    return buffer;
  },

  merge(state, packed) {
    const [stretches] = readHeader(packed, HEADER, 1);
    const from = new Float64Array(packed, headerBytes(1));
    let at = 0;
    for (let k = 0; k < stretches; k++) {
      const [file, begin, end, lanes] = from.subarray(at, at + 4);
      const stretch: Stretch = { begin, end, lanes: new KeyTable(), figures: new Float64Array(lanes * FIGURES) };
      at += 4;
      for (let lane = 0; lane < lanes; lane++, at += 2 + FIGURES) {
        stretch.lanes.add(from[at], from[at + 1], 0, 0);
        stretch.figures.set(from.subarray(at + 2, at + 2 + FIGURES), lane * FIGURES);
      }
      insert(state, file, stretch);
    }
  },

  finish(state) {
    const rows = new KeyTable();
    const found: TimeOrderRow[] = [];
    for (const file of [...state.files.keys()].sort((a, b) => a - b)) {
      for (const { lanes, figures } of state.files.get(file)!) {
        for (const lane of lanes.sorted()) {
          const pass = lanes.part(lane, 0);
          const channel = lanes.part(lane, 1);
          const f = figures.subarray(lane * FIGURES, (lane + 1) * FIGURES);
          const index = rows.add(file, pass, channel, 0);
          if (index === found.length) found.push({ file, pass, channel, steps: 0, largest: null });
          const row = found[index];
          row.steps += f[STEPS];
          if (f[STEPS] > 0 && f[LARGEST] > (row.largest?.seconds ?? 0)) {
            const [x, y] = f.subarray(LARGEST_AT + 1, LARGEST_AT + 3);
            row.largest = { seconds: f[LARGEST], x: x / QUANTA_PER_METRE, y: y / QUANTA_PER_METRE };
          }
        }
      }
    }
    return [...rows.sorted()].map((index) => found[index]);
  },
};

function stretchOf(batch: MeasuredBatch): Stretch {
  const { points, pass, valid, east, north, count } = batch;
  const { gpsTime, scannerChannel, first } = points;
  const stretch: Stretch = { begin: first, end: first + count, lanes: new KeyTable(), figures: new Float64Array(0) };
  let runPass = 0;
  let runChannel = 0;
  let lane = -1;
  let last = 0;
  for (let i = 0; i < count; i++) {
    const t = gpsTime[i];
    // Not a number: t - t is not 0.
    if (valid[i] === 0 || t - t !== 0) continue;
    if (lane < 0 || pass[i] !== runPass || scannerChannel[i] !== runChannel) {
      if (lane >= 0) stretch.figures[lane + LAST] = last;
      runPass = pass[i];
      runChannel = scannerChannel[i];
      const known = stretch.lanes.size;
      const index = stretch.lanes.add(runPass, runChannel, 0, 0);
      lane = index * FIGURES;
      if (index === known) {
        openLane(stretch, lane, t, first + i, east[i], north[i]);
        last = t;
        continue;
      }
      last = stretch.figures[lane + LAST];
    }
    if (t < last) stepBack(stretch.figures, lane, last - t, first + i, east[i], north[i]);
    last = t;
  }
  if (lane >= 0) stretch.figures[lane + LAST] = last;
  return stretch;
}

function openLane(stretch: Stretch, lane: number, t: number, ordinal: number, east: number, north: number): void {
  if (lane + FIGURES > stretch.figures.length) {
    const grown = new Float64Array(Math.max(4 * FIGURES, stretch.figures.length * 2));
    grown.set(stretch.figures);
    stretch.figures = grown;
  }
  stretch.figures.set([t, t, 0, 0, 0, 0, 0, ordinal, east, north], lane);
}

function stepBack(f: Float64Array, lane: number, by: number, ordinal: number, east: number, north: number): void {
  f[lane + STEPS]++;
  keepLargest(f, lane, by, ordinal, east, north);
}

/** Of equal steps the earlier one in the file is kept. */
function keepLargest(f: Float64Array, lane: number, by: number, ordinal: number, east: number, north: number): void {
  if (by < f[lane + LARGEST] || (by === f[lane + LARGEST] && ordinal >= f[lane + LARGEST_AT])) return;
  f[lane + LARGEST] = by;
  f[lane + LARGEST_AT] = ordinal;
  f[lane + LARGEST_AT + 1] = east;
  f[lane + LARGEST_AT + 2] = north;
}

/** Puts a stretch in its place among those of its file, and joins it to its neighbours where they touch. */
function insert(state: TimeOrderState, file: number, stretch: Stretch): void {
  let list = state.files.get(file);
  if (!list) {
    list = [];
    state.files.set(file, list);
  }
  let low = 0;
  let high = list.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (list[middle].begin < stretch.begin) low = middle + 1;
    else high = middle;
  }
  list.splice(low, 0, stretch);
  if (low + 1 < list.length && list[low + 1].begin === stretch.end) join(list, low);
  if (low > 0 && list[low - 1].end === stretch.begin) join(list, low - 1);
}

/** Joins a stretch and the next one of the list. */
function join(list: Stretch[], at: number): void {
  const [a, b] = [list[at], list[at + 1]];
  for (let lane = 0; lane < b.lanes.size; lane++) {
    const g = b.figures.subarray(lane * FIGURES, (lane + 1) * FIGURES);
    const known = a.lanes.size;
    const index = a.lanes.add(b.lanes.part(lane, 0), b.lanes.part(lane, 1), 0, 0);
    const to = index * FIGURES;
    if (index === known) {
      openLane(a, to, 0, 0, 0, 0);
      a.figures.set(g, to);
      continue;
    }
    const f = a.figures;
    const by = f[to + LAST] - g[FIRST];
    if (by > 0) stepBack(f, to, by, g[FIRST_AT], g[FIRST_AT + 1], g[FIRST_AT + 2]);
    f[to + STEPS] += g[STEPS];
    if (g[STEPS] > 0) keepLargest(f, to, g[LARGEST], g[LARGEST_AT], g[LARGEST_AT + 1], g[LARGEST_AT + 2]);
    f[to + LAST] = g[LAST];
  }
  a.end = b.end;
  list.splice(at + 1, 1);
}
