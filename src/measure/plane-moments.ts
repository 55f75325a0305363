import { Fault } from '../fault.js';
import { KeyTable } from './key-table.js';
import { type AreaPiece, type MeasuredBatch, type Measurement, QUANTA_PER_METRE } from './measurement.js';
import {
  absorbBlocks,
  createMomentBlocks,
  MOMENTS,
  type MomentBlocks,
  openBlock,
  openRecord,
  packBlocks,
  packedBytes,
  packRim,
  readBlocks,
  recycle,
} from './moment-blocks.js';

/** `voxel`: edge of the cube in which planes are fitted, metres. Moments are kept in sub-voxels of half that edge. */
export interface PlaneMomentsParams {
  voxel: number;
  /** Only these passes, of which the second is moved by whole sub-voxels first: for passes that stand far off. */
  moved?: { passes: readonly [number, number]; by: readonly [number, number, number] };
}

/** An area is 16 x 16 blocks in plan, all heights: 32 m with sub-voxels of 0.25 m. */
export const AREA_SHIFT = 4;
const AREA_SIDE = 1 << AREA_SHIFT;

export interface PlaneMoments {
  /** Edge of a sub-voxel, in quanta of `quantum`. */
  side: number;
  /** Size in 0.1 mm of the unit in which moments are kept: 1 up to sub-voxels of 1 m, 10 above. */
  quantum: number;
  /** Keys: area column, area row, 0, 0. */
  areas: KeyTable;
  blocks: MomentBlocks[];
  /** Most points a record may hold so that every product sum stays below 2^53 and adds exactly in any order. */
  mostPoints: number;
  moved: { still: number; pass: number; by: readonly [number, number, number] } | null;
}

const MAGIC = 0x504d4f32;
const HEAD = 16;
/** Column and row of an area, before its blocks. */
const AREA_HEAD = 8;

/**
 * Exact first and second moments of X Y Z for each pass and sub-voxel: enough to fit, later, the plane of any voxel that
 * is a sum of eight sub-voxels. Sums are integers: a coordinate from the sub-voxel's corner is below `side`, a product
 * below side^2, and n side^2 < 2^53 is guarded (0.25 m at 0.1 mm: n < 1.4e9).
 *
 * By far the largest of all states. It is cut into areas, so that those whose points are all in can be boiled down to the
 * planes that were looked for and forgotten.
 */
export const planeMoments: Measurement<PlaneMomentsParams, PlaneMoments, PlaneMoments> = {
  id: 'plane-moments',
  version: 2,
  columns: () => [],

  create({ voxel, moved }) {
    const { side, quantum } = subVoxel(voxel);
    return {
      side,
      quantum,
      areas: new KeyTable(),
      blocks: [],
      mostPoints: Math.floor(2 ** 53 / side ** 2),
      moved: moved ? { still: moved.passes[0], pass: moved.passes[1], by: moved.by } : null,
    };
  },

  add(state, batch) {
    const source = state.moved === null ? batch : moveBatch(state, batch);
    // A constant where it can be one, so that the loop is compiled without the division.
    if (state.quantum === 1) addBatch(state, source, 1);
    else addBatch(state, source, state.quantum);
  },

  pack(state) {
    const order = state.areas.sorted();
    let bytes = 0;
    for (const area of order) bytes += AREA_HEAD + packedBytes(state.blocks[area]);
    const buffer = startPack(state.side, order.length, bytes);
    let offset = HEAD;
    for (const area of order) {
      new Int32Array(buffer, offset, 2).set([state.areas.part(area, 0), state.areas.part(area, 1)]);
      packBlocks(state.blocks[area], buffer, offset + AREA_HEAD);
      offset += AREA_HEAD + packedBytes(state.blocks[area]);
    }
    return buffer;
  },

  absorb(state, packed) {
    forEachArea(packed, (side, column, row, offset) => {
      if (side !== state.side) throw new RangeError('these plane moments were measured otherwise');
      const read = readBlocks(packed, offset);
      if (absorbBlocks(openArea(state, column, row), read) > state.mostPoints) throw tooDense(state);
      return read.end;
    });
  },

  finish: (state) => state,

  release(state) {
    for (const blocks of state.blocks) recycle(blocks);
    state.blocks.length = 0;
  },

  areas: {
    edge: ({ voxel }) => {
      const { side, quantum } = subVoxel(voxel);
      return (side * quantum * 8 * AREA_SIDE) / QUANTA_PER_METRE;
    },
    reach: ({ voxel, moved }) => {
      const { side, quantum } = subVoxel(voxel);
      return ((1 + Math.max(0, ...(moved?.by ?? []).map(Math.abs))) * side * quantum) / QUANTA_PER_METRE;
    },
    cut,
  },
};

function subVoxel(voxel: number): { side: number; quantum: number } {
  const fine = Math.round((voxel / 2) * QUANTA_PER_METRE);
  const quantum = fine <= QUANTA_PER_METRE ? 1 : 10;
  return { side: Math.round(fine / quantum), quantum };
}

/** The rims an area gives to its lower neighbours: in the second lattice, voxels start at the last sub-voxel of an area. */
const RIMS = [
  { dx: -1, dy: 0, along: { x: true, y: false } },
  { dx: 0, dy: -1, along: { x: false, y: true } },
  { dx: -1, dy: -1, along: { x: true, y: true } },
];

function cut(state: PlaneMoments): AreaPiece[] {
  const pieces: AreaPiece[] = [];
  for (const area of state.areas.sorted()) {
    const [column, row] = [state.areas.part(area, 0), state.areas.part(area, 1)];
    const start = (dx: number, dy: number, bytes: number) => {
      const buffer = startPack(state.side, 1, AREA_HEAD + bytes);
      new Int32Array(buffer, HEAD, 2).set([column + dx, row + dy]);
      return { buffer, offset: HEAD + AREA_HEAD };
    };
    const own = start(0, 0, packedBytes(state.blocks[area]));
    packBlocks(state.blocks[area], own.buffer, own.offset);
    pieces.push({ column, row, packed: own.buffer });
    const read = readBlocks(own.buffer, own.offset);
    for (const { dx, dy, along } of RIMS) {
      const isLow = (bx: number, by: number) =>
        !(along.x && (bx & (AREA_SIDE - 1)) !== 0) && !(along.y && (by & (AREA_SIDE - 1)) !== 0);
      const rim = packRim(read, along, isLow, (bytes) => start(dx, dy, bytes));
      if (rim) pieces.push({ column: column + dx, row: row + dy, packed: rim });
    }
  }
  return pieces;
}

function startPack(side: number, areas: number, bytes: number): ArrayBuffer {
  const buffer = new ArrayBuffer(HEAD + bytes);
  new Int32Array(buffer, 0, 4).set([MAGIC, side, areas, 0]);
  return buffer;
}

/** Walks the areas of a packed state; `visit` gets where the blocks begin and says where they end. */
function forEachArea(
  packed: ArrayBuffer,
  visit: (side: number, column: number, row: number, offset: number) => number,
): void {
  const [magic, side, areas] = new Int32Array(packed, 0, 4);
  if (magic !== MAGIC) throw new RangeError('these are not packed plane moments');
  for (let i = 0, offset = HEAD; i < areas; i++) {
    const [column, row] = new Int32Array(packed, offset, 2);
    offset = visit(side, column, row, offset + AREA_HEAD);
  }
}

function openArea(state: PlaneMoments, column: number, row: number): MomentBlocks {
  const index = state.areas.add(column, row, 0, 0);
  if (index === state.blocks.length) state.blocks.push(createMomentBlocks());
  return state.blocks[index];
}

// Scratch of this thread: a batch whose second pass is moved.
let shifted: MeasuredBatch | null = null;

function moveBatch({ moved, side, quantum }: PlaneMoments, batch: MeasuredBatch): MeasuredBatch {
  const { still, pass, by } = moved!;
  const step = side * quantum;
  if (!shifted || shifted.live.length < batch.count) {
    const room = batch.live.length;
    shifted = {
      ...batch,
      east: new Float64Array(room),
      north: new Float64Array(room),
      up: new Float64Array(room),
      live: new Uint8Array(room),
    };
  }
  const out = { ...batch, east: shifted.east, north: shifted.north, up: shifted.up, live: shifted.live };
  for (let i = 0; i < batch.count; i++) {
    const far = batch.pass[i] === pass ? step : 0;
    out.east[i] = batch.east[i] + by[0] * far;
    out.north[i] = batch.north[i] + by[1] * far;
    out.up[i] = batch.up[i] + by[2] * far;
    out.live[i] = batch.pass[i] === pass || batch.pass[i] === still ? batch.live[i] : 0;
  }
  return out;
}

/**
 * A scanner stays in one sub-voxel for many points on end, so sums run in local variables and go to memory only when it
 * leaves: most points cost three subtractions, three comparisons and nine additions.
 */
function addBatch(state: PlaneMoments, batch: MeasuredBatch, quantum: number): void {
  const { east, north, up, pass, live, count } = batch;
  const side = state.side;
  let originX = 0;
  let originY = 0;
  let originZ = 0;
  let runPass = 0;
  let blockX = 0;
  let blockY = 0;
  let blockZ = 0;
  let blockPass = 0;
  let area: MomentBlocks | null = null;
  let held = -1;
  let record = -1;
  let n = 0;
  let sx = 0;
  let sy = 0;
  let sz = 0;
  let sxx = 0;
  let sxy = 0;
  let sxz = 0;
  let syy = 0;
  let syz = 0;
  let szz = 0;
  for (let i = 0; i < count; i++) {
    if (live[i] === 0) continue;
    let wx = east[i];
    let wy = north[i];
    let wz = up[i];
    if (quantum !== 1) {
      wx = Math.round(wx / quantum);
      wy = Math.round(wy / quantum);
      wz = Math.round(wz / quantum);
    }
    let x = wx - originX;
    let y = wy - originY;
    let z = wz - originZ;
    if (area === null || x < 0 || x >= side || y < 0 || y >= side || z < 0 || z >= side || pass[i] !== runPass) {
      if (area !== null) store(state, area, record, n, sx, sy, sz, sxx, sxy, sxz, syy, syz, szz);
      const ix = Math.floor(wx / side);
      const iy = Math.floor(wy / side);
      const iz = Math.floor(wz / side);
      const bx = ix >> 3;
      const by = iy >> 3;
      const bz = iz >> 3;
      runPass = pass[i];
      if (area === null || bx !== blockX || by !== blockY || bz !== blockZ || runPass !== blockPass) {
        area = openArea(state, bx >> AREA_SHIFT, by >> AREA_SHIFT);
        held = openBlock(area, runPass, bx, by, bz);
        blockX = bx;
        blockY = by;
        blockZ = bz;
        blockPass = runPass;
      }
      record = openRecord(area, held + (((iz & 7) << 6) | ((iy & 7) << 3) | (ix & 7)));
      originX = ix * side;
      originY = iy * side;
      originZ = iz * side;
      x = wx - originX;
      y = wy - originY;
      z = wz - originZ;
      n = sx = sy = sz = sxx = sxy = sxz = syy = syz = szz = 0;
    }
    n += 1;
    sx += x;
    sy += y;
    sz += z;
    sxx += x * x;
    sxy += x * y;
    sxz += x * z;
    syy += y * y;
    syz += y * z;
    szz += z * z;
  }
  if (area !== null) store(state, area, record, n, sx, sy, sz, sxx, sxy, sxz, syy, syz, szz);
}

function store(
  state: PlaneMoments,
  area: MomentBlocks,
  record: number,
  n: number,
  sx: number,
  sy: number,
  sz: number,
  sxx: number,
  sxy: number,
  sxz: number,
  syy: number,
  syz: number,
  szz: number,
): void {
  const m = area.moments;
  const at = record * MOMENTS;
  m[at] += n;
  m[at + 1] += sx;
  m[at + 2] += sy;
  m[at + 3] += sz;
  m[at + 4] += sxx;
  m[at + 5] += sxy;
  m[at + 6] += sxz;
  m[at + 7] += syy;
  m[at + 8] += syz;
  m[at + 9] += szz;
  if (m[at] > state.mostPoints) throw tooDense(state);
}

function tooDense(state: PlaneMoments): Fault {
  return new Fault({
    code: 'cell-too-dense',
    where: 'pass agreement',
    what: `a cube of ${(state.side * state.quantum) / QUANTA_PER_METRE} m holds more points of one pass than can be summed exactly`,
    expected: `at most ${state.mostPoints}`,
    advice: 'Ask for a smaller voxel in the spec',
  });
}
