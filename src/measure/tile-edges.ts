import { Fault } from '../fault.js';
import { KeyTable } from './cells/key-table.js';
import { headerBytes, type PackedHeader, readHeader, writeHeader } from './cells/packed-header.js';
import { type MeasuredBatch, type Measurement, QUANTA_PER_METRE } from './contract/measurement.js';

/** Borders between tiles, and the strip along them in which points are kept. */
export interface TileEdgesParams {
  /** Straight borders between two files (ordinals), world metres. */
  borders: { low: number; high: number; across: 'x' | 'y'; at: number; from: number; to: number; gap?: number }[];
  /** Width of the strip on either side, from half the `gap` between the files on, and length of its cells along the border, metres. */
  depth: number;
  cell: number;
}

/** Numbers of a record: the ten moments of along, away and height, and the distance of the nearest point. */
export const EDGE_FIELDS = 11;

/** Moments of the points in the strips, by border, side, pass, cell and layer, while they are collected. */
export interface TileEdges {
  edges: readonly Edge[];
  /** Edges of each file: index into `edges`, twice, plus 1 on the high side. */
  byFile: ReadonlyMap<number, readonly number[]>;
  depth: number;
  cell: number;
  /** Layers of height so thick, quanta. */
  layer: number;
  /** Keys: edge * 2 + side, pass, cell along, layer. */
  keys: KeyTable;
  records: Float64Array;
  mostPoints: number;
}

interface Edge {
  alongX: boolean;
  /** Quanta. */
  at: number;
  from: number;
  to: number;
  /** Half the width between the files, 0 where they meet. */
  half: number;
}

/** The borders of a request in quanta; `widestHalf` half the widest gap, metres. */
type Borders = Pick<TileEdges, 'edges' | 'byFile'> & { widestHalf: number };

const prepared = new WeakMap<TileEdgesParams, Borders>();

/** Made once for each request: a state is created for every job, and the borders are those of all files. */
function bordersOf(params: TileEdgesParams): Borders {
  const known = prepared.get(params);
  if (known) return known;
  const byFile = new Map<number, number[]>();
  const add = (file: number, side: number) => {
    const sides = byFile.get(file);
    if (sides) sides.push(side);
    else byFile.set(file, [side]);
  };
  let widestHalf = 0;
  const edges = params.borders.map(({ low, high, across, at, from, to, gap = 0 }, edge) => {
    add(low, edge * 2);
    add(high, edge * 2 + 1);
    widestHalf = Math.max(widestHalf, gap / 2);
    return { alongX: across === 'y', at: quanta(at), from: quanta(from), to: quanta(to), half: quanta(gap / 2) };
  });
  const borders = { edges, byFile, widestHalf };
  prepared.set(params, borders);
  return borders;
}

function quanta(metres: number): number {
  return Math.round(metres * QUANTA_PER_METRE);
}

const HEADER = { id: 'tile-edges', version: 2 } as const satisfies PackedHeader;
const KEYS_AT = headerBytes(3);

/**
 * Both sides of every border between files, pass by pass: moments of the points in a strip, in cells along the border and
 * layers of height, as whole quanta from the corner of the cell (along), the border (away, positive into the file) and
 * the bottom of the layer. A product is below (2 depth + half the gap)^2 or cell^2, and n times the larger stays below 2^53.
 */
export const tileEdges: Measurement<'tile-edges', TileEdgesParams, TileEdges, TileEdges> = {
  id: HEADER.id,
  parameters: { borders: 'required', depth: 'required', cell: 'required' },
  version: HEADER.version,
  columns: () => [],

  create(params) {
    const { depth, cell } = params;
    const prepared = bordersOf(params);
    const widest = quanta(depth + prepared.widestHalf);
    return {
      ...prepared,
      depth: quanta(depth),
      cell: quanta(cell),
      layer: quanta(cell / 2),
      keys: new KeyTable(),
      records: new Float64Array(64 * EDGE_FIELDS),
      mostPoints: Math.floor(2 ** 53 / Math.max(widest, quanta(cell)) ** 2),
    };
  },

  add(state, batch) {
    for (const side of state.byFile.get(batch.file) ?? []) addSide(state, batch, side);
  },

  pack(state) {
    const order = state.keys.sorted();
    const buffer = new ArrayBuffer(KEYS_AT + order.length * (16 + EDGE_FIELDS * 8));
    writeHeader(buffer, HEADER, [order.length], [state.depth, state.cell]);
    const keys = new Int32Array(buffer, KEYS_AT, order.length * 4);
    const records = new Float64Array(buffer, KEYS_AT + order.length * 16);
    for (let i = 0; i < order.length; i++) {
      for (let k = 0; k < 4; k++) keys[i * 4 + k] = state.keys.part(order[i], k);
      records.set(state.records.subarray(order[i] * EDGE_FIELDS, (order[i] + 1) * EDGE_FIELDS), i * EDGE_FIELDS);
    }
    return buffer;
  },

  merge(state, packed) {
    const [count] = readHeader(packed, HEADER, 1, [state.depth, state.cell]);
    const keys = new Int32Array(packed, KEYS_AT, count * 4);
    const records = new Float64Array(packed, KEYS_AT + count * 16, count * EDGE_FIELDS);
    for (let i = 0; i < count; i++) {
      const at = open(state, keys[i * 4], keys[i * 4 + 1], keys[i * 4 + 2], keys[i * 4 + 3]) * EDGE_FIELDS;
      const from = i * EDGE_FIELDS;
      const near = Math.min(state.records[at + 10], records[from + 10]);
      for (let k = 0; k < 10; k++) state.records[at + k] += records[from + k];
      state.records[at + 10] = near;
      if (state.records[at] > state.mostPoints) throw tooDense(state);
    }
  },

  finish: (state) => state,
};

function open(state: TileEdges, side: number, pass: number, along: number, layer: number): number {
  const known = state.keys.size;
  const index = state.keys.add(side, pass, along, layer);
  if (index === known) {
    if ((index + 1) * EDGE_FIELDS > state.records.length) {
      const grown = new Float64Array(state.records.length * 2);
      grown.set(state.records);
      state.records = grown;
    }
    state.records[index * EDGE_FIELDS + 10] = Number.POSITIVE_INFINITY;
  }
  return index;
}

/** Adds the points of a batch that are in the strip on one side of one border. */
function addSide(state: TileEdges, batch: MeasuredBatch, side: number): void {
  const { alongX, at, from, to, half } = state.edges[side >> 1];
  const { cell, layer } = state;
  const depth = state.depth + half;
  const { box, valid, pass, up, count } = batch;
  const [a, b] = alongX ? [0, 1] : [1, 0];
  if (box[b] > at + depth || box[b + 3] < at - depth || box[a] > to || box[a + 3] < from) return;
  const along = alongX ? batch.east : batch.north;
  const across = alongX ? batch.north : batch.east;
  const inward = (side & 1) === 1 ? 1 : -1;
  for (let i = 0; i < count; i++) {
    const d = (across[i] - at) * inward;
    if (d > depth || d < -depth || along[i] < from || along[i] > to || valid[i] === 0) continue;
    const column = Math.floor(along[i] / cell);
    const level = Math.floor(up[i] / layer);
    const r = open(state, side, pass[i], column, level) * EDGE_FIELDS;
    const s = along[i] - column * cell;
    const z = up[i] - level * layer;
    const m = state.records;
    m[r]++;
    m[r + 1] += s;
    m[r + 2] += d;
    m[r + 3] += z;
    m[r + 4] += s * s;
    m[r + 5] += s * d;
    m[r + 6] += s * z;
    m[r + 7] += d * d;
    m[r + 8] += d * z;
    m[r + 9] += z * z;
    if (d < m[r + 10]) m[r + 10] = d;
    if (m[r] > state.mostPoints) throw tooDense(state);
  }
}

function tooDense(state: TileEdges): Fault {
  return new Fault({
    code: 'cell-too-dense',
    where: 'tile edges',
    what: `a strip cell of ${state.cell / QUANTA_PER_METRE} m holds more points of one pass than can be summed exactly`,
    expected: `at most ${state.mostPoints}`,
    advice: 'Ask for a smaller cell or depth in the spec',
  });
}
