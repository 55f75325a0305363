import type { Column } from '../cloud/columns.js';
import { dropTimes, flushTimes, type OnTimeCells, TIME_CELL, type TimeCells, timeCells } from '../kernel/time-cells.js';
import { KeyTable } from './cells/key-table.js';
import { type MeasuredBatch, type Measurement, QUANTA_PER_METRE } from './contract/measurement.js';

export interface PassTimesParams {
  /** Edge of a square cell, metres; cells are anchored at multiples of it from world 0, 0. */
  cell: number;
}

export interface PassTimesState extends PassTimes {
  sink: OnTimeCells;
}

/** When each pass saw each cell: earliest and latest GPS time, seconds as stored. */
export interface PassTimes {
  side: number;
  /** Keys: pass, block x, block y, 0. */
  blocks: KeyTable;
  /** For each block, SLOTS earliest times, then SLOTS latest ones; Infinity and -Infinity where the pass saw nothing. */
  times: Float64Array[];
}

const SHIFT = 5;
const SIDE = 1 << SHIFT;
const SLOTS = SIDE * SIDE;
const MAGIC = 0x50544d31;

/**
 * Earliest and latest GPS time of each pass in each cell. Two numbers, exact whatever the order: a vehicle passes a cell
 * within seconds, so their middle tells when, and where they lie far apart the pass came by twice or stood still.
 */
export const passTimes: Measurement<PassTimesParams, PassTimesState, PassTimes> = {
  id: 'pass-times',
  version: 1,
  columns: (): readonly Column[] => ['gpsTime'],

  create({ cell }) {
    const times: PassTimes = { side: Math.round(cell * QUANTA_PER_METRE), blocks: new KeyTable(), times: [] };
    return { ...times, sink: (cells) => absorbCells(times, cells) };
  },

  add: addBatch,

  pack(state) {
    flushTimes(state.sink);
    const order = state.blocks.sorted();
    const head = 16 + Math.ceil((order.length * 12) / 8) * 8;
    const buffer = new ArrayBuffer(head + order.length * SLOTS * 16);
    const words = new Int32Array(buffer, 0, 4 + order.length * 3);
    words.set([MAGIC, state.side, order.length, 0]);
    for (let i = 0; i < order.length; i++) {
      for (let k = 0; k < 3; k++) words[4 + i * 3 + k] = state.blocks.part(order[i], k);
      new Float64Array(buffer, head + i * SLOTS * 16, SLOTS * 2).set(state.times[order[i]]);
    }
    return buffer;
  },

  merge(state, packed) {
    const [magic, side, count] = new Int32Array(packed, 0, 4);
    if (magic !== MAGIC || side !== state.side) throw new RangeError('these pass times were measured otherwise');
    const keys = new Int32Array(packed, 16, count * 3);
    const head = 16 + Math.ceil((count * 12) / 8) * 8;
    for (let i = 0; i < count; i++) {
      const from = new Float64Array(packed, head + i * SLOTS * 16, SLOTS * 2);
      const to = openBlock(state, keys[i * 3], keys[i * 3 + 1], keys[i * 3 + 2]);
      widen(from, to);
    }
  },

  finish(state) {
    flushTimes(state.sink);
    return state;
  },

  release: ({ sink }) => dropTimes(sink),
};

/** When the pass saw the cell at a place (world metres), and for how long; both NaN where it saw nothing. Seconds. */
export interface Sighting {
  middle: number;
  duration: number;
}

/**
 * When a pass saw the cells at places, world metres, one after the other. Neighbours mostly lie in one block, which then
 * is not looked up again; answers are written into `out`, so that nothing is allocated a place.
 */
export function sightingsOf(state: PassTimes, pass: number): (x: number, y: number, out: Sighting) => void {
  const { side, blocks, times } = state;
  let blockX = 0;
  let blockY = 0;
  let held: Float64Array | null | undefined;
  return (x, y, out) => {
    const cx = Math.floor(Math.round(x * QUANTA_PER_METRE) / side);
    const cy = Math.floor(Math.round(y * QUANTA_PER_METRE) / side);
    if (held === undefined || cx >> SHIFT !== blockX || cy >> SHIFT !== blockY) {
      blockX = cx >> SHIFT;
      blockY = cy >> SHIFT;
      const at = blocks.find(pass, blockX, blockY, 0);
      held = at < 0 ? null : times[at];
    }
    const slot = ((cy & (SIDE - 1)) << SHIFT) | (cx & (SIDE - 1));
    const low = held === null ? Number.POSITIVE_INFINITY : held[slot];
    const seen = held !== null && low !== Number.POSITIVE_INFINITY;
    out.duration = seen ? held![SLOTS + slot] - low : Number.NaN;
    out.middle = seen ? low + out.duration / 2 : Number.NaN;
  };
}

function openBlock(state: PassTimes, pass: number, bx: number, by: number): Float64Array {
  const index = state.blocks.add(pass, bx, by, 0);
  if (index === state.times.length) {
    const times = new Float64Array(SLOTS * 2).fill(Number.POSITIVE_INFINITY, 0, SLOTS);
    state.times.push(times.fill(Number.NEGATIVE_INFINITY, SLOTS));
  }
  return state.times[index];
}

function addBatch({ side, sink }: PassTimesState, batch: MeasuredBatch): void {
  if (batch.points.has.has('gpsTime')) timeCells(batch, batch.points.gpsTime, side, sink);
}

/** Earlier and later times of a block go to another. */
function widen(from: Float64Array, to: Float64Array): void {
  for (let k = 0; k < SLOTS; k++) if (from[k] < to[k]) to[k] = from[k];
  for (let k = SLOTS; k < 2 * SLOTS; k++) if (from[k] > to[k]) to[k] = from[k];
}

/** Most cells follow another of their block: then there is nothing to look up. */
function absorbCells(state: PassTimes, { count, words, numbers }: TimeCells): void {
  let held: Float64Array | null = null;
  let blockX = 0;
  let blockY = 0;
  let blockPass = 0;
  for (let i = 0; i < count; i++) {
    const w = i * TIME_CELL.words;
    const cx = words[w];
    const cy = words[w + 1];
    const pass = words[w + 2];
    if (held === null || cx >> SHIFT !== blockX || cy >> SHIFT !== blockY || pass !== blockPass) {
      blockX = cx >> SHIFT;
      blockY = cy >> SHIFT;
      blockPass = pass;
      held = openBlock(state, pass, blockX, blockY);
    }
    const slot = ((cy & (SIDE - 1)) << SHIFT) | (cx & (SIDE - 1));
    const low = numbers[i * TIME_CELL.numbers + TIME_CELL.low];
    const high = numbers[i * TIME_CELL.numbers + TIME_CELL.high];
    if (low < held[slot]) held[slot] = low;
    if (high > held[SLOTS + slot]) held[SLOTS + slot] = high;
  }
}
