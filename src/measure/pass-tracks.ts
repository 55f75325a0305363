import { KeyTable } from './cells/key-table.js';
import { headerBytes, type PackedHeader, readHeader, writeHeader } from './cells/packed-header.js';
import { type Measurement, QUANTA_PER_METRE } from './contract/measurement.js';

/** Cells in which the track of a pass is kept. */
export interface PassTracksParams {
  /** Edge of a square cell, metres; cells are anchored at multiples of it from world 0, 0. */
  cell: number;
}

/** Cells in which each pass has points near the nadir, while they are collected. */
export interface PassTracksState {
  side: number;
  /** Keys: pass, column, row, 0. */
  cells: KeyTable;
}

/** Cells in which a pass has points straight below its scanner: their middles in world metres. */
export interface PassTrack {
  x: Float64Array;
  y: Float64Array;
}

/** Scan angles up to this are straight below: 2 degrees, in the steps of 0.006 degree in which columns hold them. */
const BELOW = Math.round(2 / 0.006);
const HEADER = { id: 'pass-tracks', version: 2 } as const satisfies PackedHeader;
const KEYS_AT = headerBytes(2);

/**
 * Where each pass drove or flew: the cells in which it has points with a scan angle near 0 (LAS 1.4 R15, 2.6: 0 is the
 * nadir). The state grows with the length of the drive. Where angles were not stored, every cell is such a cell: a
 * check that uses the track must examine whether it is narrow.
 */
export const passTracks: Measurement<'pass-tracks', PassTracksParams, PassTracksState, Map<number, PassTrack>> = {
  id: HEADER.id,
  parameters: { cell: 'required' },
  version: HEADER.version,
  columns: () => ['scanAngle'],
  create: ({ cell }) => ({ side: Math.round(cell * QUANTA_PER_METRE), cells: new KeyTable() }),

  add({ side, cells }, batch) {
    const { east, north, pass, valid, count } = batch;
    const { scanAngle, has } = batch.points;
    if (!has.has('scanAngle')) return;
    let lastColumn = Number.NaN;
    let lastRow = Number.NaN;
    let lastPass = 0;
    for (let i = 0; i < count; i++) {
      const angle = scanAngle[i];
      if (angle > BELOW || angle < -BELOW || valid[i] === 0) continue;
      const column = Math.floor(east[i] / side);
      const row = Math.floor(north[i] / side);
      if (column === lastColumn && row === lastRow && pass[i] === lastPass) continue;
      cells.add(pass[i], column, row, 0);
      lastColumn = column;
      lastRow = row;
      lastPass = pass[i];
    }
  },

  pack({ side, cells }) {
    const order = cells.sorted();
    const packed = new ArrayBuffer(KEYS_AT + order.length * 12);
    writeHeader(packed, HEADER, [order.length], [side]);
    const words = new Int32Array(packed, KEYS_AT);
    for (let i = 0; i < order.length; i++) for (let k = 0; k < 3; k++) words[i * 3 + k] = cells.part(order[i], k);
    return packed;
  },

  merge({ side, cells }, packed) {
    const [count] = readHeader(packed, HEADER, 1, [side]);
    const words = new Int32Array(packed, KEYS_AT, count * 3);
    for (let at = 0; at < words.length; at += 3) cells.add(words[at], words[at + 1], words[at + 2], 0);
  },

  finish({ cells }, { cell }) {
    const byPass = new Map<number, { x: number[]; y: number[] }>();
    for (const index of cells.sorted()) {
      const pass = cells.part(index, 0);
      const track = byPass.get(pass) ?? { x: [], y: [] };
      track.x.push((cells.part(index, 1) + 0.5) * cell);
      track.y.push((cells.part(index, 2) + 0.5) * cell);
      byPass.set(pass, track);
    }
    return new Map([...byPass].map(([pass, { x, y }]) => [pass, { x: Float64Array.from(x), y: Float64Array.from(y) }]));
  },
};
