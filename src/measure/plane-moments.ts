import { Fault } from '../fault.js';
import { KeyTable } from './key-table.js';
import { type MeasuredBatch, type Measurement, QUANTA_PER_METRE } from './measurement.js';

/** `voxel`: edge of the cube in which planes are fitted, metres. Moments are kept in sub-voxels of half that edge. */
export interface PlaneMomentsParams {
  voxel: number;
}

/** Numbers kept for each pass and sub-voxel: n, sums of x y z, sums of xx xy xz yy yz zz; from the sub-voxel's corner. */
export const MOMENTS = 10;
/** A block is 8 x 8 x 8 sub-voxels: a lookup is needed only where the scan leaves a block. */
export const BLOCK_SIDE = 8;
const BLOCK_SLOTS = BLOCK_SIDE ** 3;

export interface PlaneMoments {
  /** Edge of a sub-voxel, in quanta of `quantum`. */
  side: number;
  /** Size in 0.1 mm of the unit in which moments are kept: 1 up to sub-voxels of 1 m, 10 above. */
  quantum: number;
  /** Keys: pass, block x, block y, block z. */
  blocks: KeyTable;
  /** For each block, slot -> record + 1; slot = (z * 8 + y) * 8 + x of the sub-voxel in the block. */
  slots: Int32Array[];
  records: number;
  /** MOMENTS numbers a record; grows by doubling. */
  moments: Float64Array;
  /** Most points a record may hold so that every product sum stays below 2^53 and adds exactly in any order. */
  mostPoints: number;
}

const MAGIC = 0x504d4f31;

/**
 * Exact first and second moments of X Y Z for each pass and sub-voxel: enough to fit, later, the plane of any voxel that
 * is a sum of eight sub-voxels. Sums are integers: a coordinate from the sub-voxel's corner is below `side`, a product below side^2, and n side^2 < 2^53 is
 * guarded (0.25 m at 0.1 mm: n < 1.4e9).
 */
export const planeMoments: Measurement<PlaneMomentsParams, PlaneMoments, PlaneMoments> = {
  id: 'plane-moments',
  version: 1,
  columns: () => [],

  create({ voxel }) {
    const fine = Math.round((voxel / 2) * QUANTA_PER_METRE);
    const quantum = fine <= QUANTA_PER_METRE ? 1 : 10;
    const side = Math.round(fine / quantum);
    return {
      side,
      quantum,
      blocks: new KeyTable(),
      slots: [],
      records: 0,
      moments: new Float64Array(256 * MOMENTS),
      mostPoints: Math.floor(2 ** 53 / side ** 2),
    };
  },

  add(state, batch) {
    if (state.quantum === 1) addBatch(state, batch, 1);
    else addBatch(state, batch, state.quantum);
  },

  pack(state) {
    const order = state.blocks.sorted();
    const slotsAt = padded(16 + order.length * 20);
    const momentsAt = slotsAt + padded(state.records * 2);
    const buffer = new ArrayBuffer(momentsAt + state.records * MOMENTS * 8);
    const head = new Int32Array(buffer, 0, 4 + order.length * 5);
    head.set([MAGIC, state.side, order.length, state.records]);
    const slots = new Uint16Array(buffer, slotsAt, state.records);
    const moments = new Float64Array(buffer, momentsAt);
    let at = 0;
    for (let i = 0; i < order.length; i++) {
      const block = order[i];
      const held = state.slots[block];
      const before = at;
      for (let slot = 0; slot < BLOCK_SLOTS; slot++) {
        const record = held[slot];
        if (record === 0) continue;
        slots[at] = slot;
        const from = (record - 1) * MOMENTS;
        for (let k = 0; k < MOMENTS; k++) moments[at * MOMENTS + k] = state.moments[from + k];
        at++;
      }
      for (let k = 0; k < 4; k++) head[4 + i * 5 + k] = state.blocks.part(block, k);
      head[4 + i * 5 + 4] = at - before;
    }
    return buffer;
  },

  absorb(state, packed) {
    const head = new Int32Array(packed, 0, 4);
    if (head[0] !== MAGIC || head[1] !== state.side)
      throw new RangeError('these plane moments were measured otherwise');
    const blocks = head[2];
    const records = head[3];
    const keys = new Int32Array(packed, 16, blocks * 5);
    const slotsAt = padded(16 + blocks * 20);
    const slots = new Uint16Array(packed, slotsAt, records);
    const moments = new Float64Array(packed, slotsAt + padded(records * 2), records * MOMENTS);
    let at = 0;
    for (let i = 0; i < blocks; i++) {
      const k = i * 5;
      const held = openBlock(state, keys[k], keys[k + 1], keys[k + 2], keys[k + 3]);
      for (let end = at + keys[k + 4]; at < end; at++) {
        const record = openRecord(state, held, slots[at]) * MOMENTS;
        const target = state.moments;
        for (let m = 0; m < MOMENTS; m++) target[record + m] += moments[at * MOMENTS + m];
        if (target[record] > state.mostPoints) throw tooDense(state);
      }
    }
  },

  finish: (state) => state,
};

function padded(bytes: number): number {
  return Math.ceil(bytes / 8) * 8;
}

function openBlock(state: PlaneMoments, pass: number, bx: number, by: number, bz: number): Int32Array {
  const index = state.blocks.add(pass, bx, by, bz);
  if (index === state.slots.length) state.slots.push(new Int32Array(BLOCK_SLOTS));
  return state.slots[index];
}

/** Record of a sub-voxel, made if it is new. */
function openRecord(state: PlaneMoments, held: Int32Array, slot: number): number {
  let record = held[slot];
  if (record === 0) {
    record = ++state.records;
    held[slot] = record;
    if (record * MOMENTS > state.moments.length) {
      const grown = new Float64Array(state.moments.length * 2);
      grown.set(state.moments);
      state.moments = grown;
    }
  }
  return record - 1;
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
  let held: Int32Array | null = null;
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
    if (record < 0 || x < 0 || x >= side || y < 0 || y >= side || z < 0 || z >= side || pass[i] !== runPass) {
      if (record >= 0) store(state, record, n, sx, sy, sz, sxx, sxy, sxz, syy, syz, szz);
      const ix = Math.floor(wx / side);
      const iy = Math.floor(wy / side);
      const iz = Math.floor(wz / side);
      const bx = ix >> 3;
      const by = iy >> 3;
      const bz = iz >> 3;
      runPass = pass[i];
      if (held === null || bx !== blockX || by !== blockY || bz !== blockZ || runPass !== blockPass) {
        held = openBlock(state, runPass, bx, by, bz);
        blockX = bx;
        blockY = by;
        blockZ = bz;
        blockPass = runPass;
      }
      record = openRecord(state, held, ((iz & 7) << 6) | ((iy & 7) << 3) | (ix & 7));
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
  if (record >= 0) store(state, record, n, sx, sy, sz, sxx, sxy, sxz, syy, syz, szz);
}

function store(
  state: PlaneMoments,
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
  const m = state.moments;
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
