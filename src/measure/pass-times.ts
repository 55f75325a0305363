import type { Column } from '../cloud/columns.js';
import { dropTimes, flushTimes, type OnTimeCells, TIME_CELL, type TimeCells, timeCells } from '../kernel/time-cells.js';
import { type CellBlock, CellGrid, type CellLayout } from './cells/cell-grid.js';
import { type MeasuredBatch, type Measurement, QUANTA_PER_METRE } from './contract/measurement.js';

/** Cells in which the times of a pass are kept. */
export interface PassTimesParams {
  /** Edge of a square cell, metres; cells are anchored at multiples of it from world 0, 0. */
  cell: number;
}

/** Earliest and latest GPS time by pass and cell, while it is collected. */
export interface PassTimesState extends PassTimes {
  sink: OnTimeCells;
}

/** When each pass saw each cell: earliest and latest GPS time, seconds as stored. */
export interface PassTimes {
  side: number;
  grid: CellGrid<typeof LAYOUT.columns>;
}

const SHIFT = 5;
const SIDE = 1 << SHIFT;
const SLOTS = SIDE * SIDE;

/** Keys: pass, block column, block row. Infinity and -Infinity where the pass has no point. */
const LAYOUT = {
  id: 'pass-times',
  version: 2,
  keys: 3,
  cells: SLOTS,
  columns: { earliest: { type: 'f64', merge: 'min' }, latest: { type: 'f64', merge: 'max' } },
} as const satisfies CellLayout;

/**
 * Earliest and latest GPS time of each pass in each cell. Two numbers, exact whatever the order: a vehicle passes a cell
 * within seconds, so their middle is the time of the drive; where they are far apart, the vehicle came by twice or stopped.
 */
export const passTimes: Measurement<'pass-times', PassTimesParams, PassTimesState, PassTimes> = {
  id: 'pass-times',
  parameters: { cell: 'required' },
  version: LAYOUT.version,
  columns: (): readonly Column[] => ['gpsTime'],

  create({ cell }) {
    const side = Math.round(cell * QUANTA_PER_METRE);
    const times: PassTimes = { side, grid: new CellGrid(LAYOUT, [side]) };
    return { ...times, sink: (cells) => absorbCells(times, cells) };
  },

  add: addBatch,

  pack(state) {
    flushTimes(state.sink);
    return state.grid.pack();
  },

  merge: ({ grid }, packed) => grid.merge(packed),

  finish(state) {
    flushTimes(state.sink);
    return state;
  },

  release: ({ sink }) => dropTimes(sink),
};

/** GPS time in the middle of the points of the pass in the cell at a place (world metres), and how long they last; seconds, both NaN where it has no point there. */
export interface Sighting {
  middle: number;
  duration: number;
}

/**
 * Times of a pass in the cells at places, world metres, one after the other. Neighbours are mostly in one block, which then
 * is not looked up again; answers are written into `out`, so that no memory is allocated for each place.
 */
export function sightingsOf(state: PassTimes, pass: number): (x: number, y: number, out: Sighting) => void {
  const { side, grid } = state;
  let blockX = 0;
  let blockY = 0;
  let held: CellBlock<typeof LAYOUT.columns> | null | undefined;
  return (x, y, out) => {
    const cx = Math.floor(Math.round(x * QUANTA_PER_METRE) / side);
    const cy = Math.floor(Math.round(y * QUANTA_PER_METRE) / side);
    if (held === undefined || cx >> SHIFT !== blockX || cy >> SHIFT !== blockY) {
      blockX = cx >> SHIFT;
      blockY = cy >> SHIFT;
      held = grid.find(pass, blockX, blockY);
    }
    const slot = ((cy & (SIDE - 1)) << SHIFT) | (cx & (SIDE - 1));
    const low = held === null ? Number.POSITIVE_INFINITY : held.earliest[slot];
    const seen = held !== null && low !== Number.POSITIVE_INFINITY;
    out.duration = seen ? held!.latest[slot] - low : Number.NaN;
    out.middle = seen ? low + out.duration / 2 : Number.NaN;
  };
}

function addBatch({ side, sink }: PassTimesState, batch: MeasuredBatch): void {
  if (batch.points.has.has('gpsTime')) timeCells(batch, batch.points.gpsTime, side, sink);
}

/** Most cells follow another of their block: then there is nothing to look up. */
function absorbCells(state: PassTimes, { count, words, numbers }: TimeCells): void {
  let held: CellBlock<typeof LAYOUT.columns> | null = null;
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
      held = state.grid.open(pass, blockX, blockY);
    }
    const slot = ((cy & (SIDE - 1)) << SHIFT) | (cx & (SIDE - 1));
    const low = numbers[i * TIME_CELL.numbers + TIME_CELL.low];
    const high = numbers[i * TIME_CELL.numbers + TIME_CELL.high];
    if (low < held.earliest[slot]) held.earliest[slot] = low;
    if (high > held.latest[slot]) held.latest[slot] = high;
  }
}
