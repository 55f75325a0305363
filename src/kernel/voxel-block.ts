import { Fault } from '../fault.js';
import { bytesOf, countVoxels, type MomentVoxels, WIDE_BYTES } from './voxel-record.js';
import { compile } from './wasm.js';

/** Exports of the compiled module; see voxels/assembly. A visit returns the address of its columns, or 0 where memory is short. */
interface Voxels {
  memory: { readonly buffer: ArrayBuffer };
  openBlock(column: number, row: number, side: number, most: number): number;
  addSmall(count: number): number;
  addWide(count: number): number;
  passCount(): number;
  makeVoxels(): number;
  visitOutline(levels: number): number;
  visitPairs(points: number, rms: number, spread: number, cosine: number, noise: number): number;
  visitPatches(points: number, variance: number, spread: number, slope: number): number;
  groupCount(): number;
  recordCount(): number;
}

// The same as in voxels/assembly/memory.ts.
const INPUT = 65_536;
const INPUT_CAPACITY = 4096;
const PASSES = INPUT + INPUT_CAPACITY * WIDE_BYTES;
const MAX_PASSES = 4096;
const GROUPS = PASSES + 4 * MAX_PASSES;
const GROUP_WORDS = 12;

/** An instance with more memory than this is replaced before the next block, so that the memory is returned. */
const KEPT_BYTES = 128 << 20;

/** Positions of planes: three entries a plane. */
interface PlanePositions {
  /** Lower corner of the voxel: column, row and level of its first sub-voxel. */
  corner: Int32Array;
  /** Mean position of the points from that corner, quanta. */
  offset: Uint16Array;
}

/** Planes that two passes share. Lengths in quanta; single precision is enough because positions are from a voxel corner. */
export interface SharedPlanes extends PlanePositions {
  a: number;
  b: number;
  /** Voxels in which both passes have points, and voxels in which both have enough points for a plane. */
  shared: number;
  dense: number;
  /**
   * Voxels in which both show the same upright surface, but one of them with too few points for a plane; sum over these of
   * the smaller number of points; voxels with enough points whose upright surface is too rough for a plane.
   */
  sparse: number;
  sparsePoints: number;
  rough: number;
  count: number;
  /** Mean unit normal: three entries a plane. */
  normal: Float32Array;
  /** Distance of pass b from pass a along the normal. */
  distance: Float32Array;
  /** Variance of the distance from the noise of the points of both passes, square quanta; what overlapping voxels share is counted in. */
  variance: Float32Array;
}

/** Nearly level patches of a pass. Lengths in quanta. */
export interface LevelPatches extends PlanePositions {
  pass: number;
  count: number;
  points: Uint32Array;
  /** Variance of the points about the plane, divisor n - 3. */
  variance: Float32Array;
  /** Height of the plane at the centre of the voxel, from the voxel's corner. */
  middle: Float32Array;
}

/** Outlines of the passes in a block. Passes and pairs are in ascending order. */
export interface BlockOutlines {
  passes: number[];
  /** For each pass: column and row, alternately, of sub-voxels where it has an upright surface. */
  upright: Int32Array[];
  /**
   * For every two passes that share squares one voxel wide: height of b's lowest surface above a's, a square each, and the number
   * of the square in the block, row by row.
   */
  shared: { a: number; b: number; above: Float32Array; square: Uint16Array }[];
}

/** A group of records: its kind, one or two passes, five counts, and the range of its records in the columns of that kind. */
interface Group {
  kind: number;
  a: number;
  b: number;
  counts: readonly number[];
  begin: number;
  count: number;
}

let make: (() => Voxels) | undefined;

/**
 * The sub-voxels of one processing block, summed to voxels, and what is computed from them. One instance a thread is
 * enough: opening a block discards the last one. Every method throws Fault `memory-short` where memory is short.
 */
export class VoxelBlock {
  #wasm: Voxels = instantiate();

  /**
   * Adds the sub-voxels of a block of 128 x 128 columns and of its halo; sub-voxels with the same key are summed.
   * @param side edge of a sub-voxel, quanta
   * @returns the passes, ascending, and the largest number of points in a sub-voxel
   */
  open(column: number, row: number, side: number, parts: readonly MomentVoxels[]): { passes: number[]; most: number } {
    if (this.#wasm.memory.buffer.byteLength > KEPT_BYTES) this.#wasm = instantiate();
    const count = parts.reduce((sum, part) => sum + countVoxels(part), 0);
    addressOrFault(this.#wasm.openBlock(column, row, side, count));
    const most = parts.map((part) => this.#add(part));
    addressOrFault(this.#wasm.makeVoxels());
    const passes = new Int32Array(this.#wasm.memory.buffer, PASSES, this.#wasm.passCount());
    return { passes: [...passes].sort((a, b) => a - b), most: most.reduce((a, b) => Math.max(a, b), 0) };
  }

  #add(subVoxels: MomentVoxels): number {
    const each = bytesOf(subVoxels.wide);
    const count = countVoxels(subVoxels);
    let most = 0;
    for (let from = 0; from < count; from += INPUT_CAPACITY) {
      const n = Math.min(INPUT_CAPACITY, count - from);
      const part = subVoxels.bytes.subarray(from * each, (from + n) * each);
      new Uint8Array(this.#wasm.memory.buffer, INPUT, part.byteLength).set(part);
      most = Math.max(most, subVoxels.wide ? this.#wasm.addWide(n) : this.#wasm.addSmall(n));
    }
    return most;
  }

  /** Outline of every pass. `levels`: number of sub-voxels one above the other that count as upright. */
  outline(levels: number): BlockOutlines {
    const columnRows = addressOrFault(this.#wasm.visitOutline(levels));
    const groups = this.#groups();
    const upright = groups.filter(({ kind }) => kind === 1);
    const heights = columnRows + 8 * upright.reduce((sum, { count }) => sum + count, 0);
    const shared = groups.filter(({ kind }) => kind === 0);
    const squares = heights + 4 * shared.reduce((sum, { count }) => sum + count, 0);
    const take = this.#taker();
    return {
      passes: upright.map(({ a }) => a),
      upright: upright.map((group) => take(Int32Array, columnRows, 2, group)),
      shared: shared.map((group) => ({
        a: group.a,
        b: group.b,
        above: take(Float32Array, heights, 1, group),
        square: take(Uint16Array, squares, 1, group),
      })),
    };
  }

  /** Planes of every two passes in every voxel, by a, then b; limits as for `visitPairs` in voxels/assembly/pairs.ts. */
  pairs(limits: { points: number; rms: number; spread: number; cosine: number; noise: number }): SharedPlanes[] {
    const { points, rms, spread, cosine, noise } = limits;
    const corners = addressOrFault(this.#wasm.visitPairs(points, rms, spread, cosine, noise));
    const n = this.#wasm.recordCount();
    const take = this.#taker();
    return this.#groups().map((group) => ({
      a: group.a,
      b: group.b,
      shared: group.counts[0],
      dense: group.counts[1],
      sparse: group.counts[2],
      sparsePoints: group.counts[3],
      rough: group.counts[4],
      count: group.count,
      corner: take(Int32Array, corners, 3, group),
      normal: take(Float32Array, corners + 12 * n, 3, group),
      distance: take(Float32Array, corners + 24 * n, 1, group),
      variance: take(Float32Array, corners + 28 * n, 1, group),
      offset: take(Uint16Array, corners + 32 * n, 3, group),
    }));
  }

  /** Nearly level patches of every pass that has some; limits as for `visitPatches` in voxels/assembly/patches.ts. */
  patches(limits: { points: number; variance: number; spread: number; slope: number }): LevelPatches[] {
    const corners = addressOrFault(
      this.#wasm.visitPatches(limits.points, limits.variance, limits.spread, limits.slope),
    );
    const n = this.#wasm.recordCount();
    const take = this.#taker();
    return this.#groups().map((group) => ({
      pass: group.a,
      count: group.count,
      corner: take(Int32Array, corners, 3, group),
      points: take(Uint32Array, corners + 12 * n, 1, group),
      variance: take(Float32Array, corners + 16 * n, 1, group),
      middle: take(Float32Array, corners + 20 * n, 1, group),
      offset: take(Uint16Array, corners + 24 * n, 3, group),
    }));
  }

  /** Sorted by a, then b. */
  #groups(): Group[] {
    const words = new Int32Array(this.#wasm.memory.buffer, GROUPS, this.#wasm.groupCount() * GROUP_WORDS);
    const groups = Array.from({ length: words.length / GROUP_WORDS }, (_, g): Group => {
      const [kind, a, b, , count, first, second, next, ...more] = words.subarray(
        g * GROUP_WORDS,
        (g + 1) * GROUP_WORDS,
      );
      return { kind, a, b, counts: [first, second, ...more], begin: next - count, count };
    });
    return groups.sort((p, q) => p.a - q.a || p.b - q.b);
  }

  /** Makes a function that copies a group's part of a column with so many entries a record. */
  #taker() {
    const { buffer } = this.#wasm.memory;
    return <View extends { slice(): View }>(
      Maker: { new (buffer: ArrayBuffer, at: number, length: number): View; readonly BYTES_PER_ELEMENT: number },
      column: number,
      entries: number,
      { begin, count }: Group,
    ): View => new Maker(buffer, column + begin * entries * Maker.BYTES_PER_ELEMENT, count * entries).slice();
  }
}

function instantiate(): Voxels {
  make ??= compile<Voxels>('voxels');
  return make();
}

function addressOrFault(answer: number): number {
  // WebAssembly returns i32: addresses of 2^31 and more are negative here.
  if (answer !== 0) return answer >>> 0;
  throw new Fault({
    code: 'memory-short',
    where: 'comparison of passes',
    what: 'a processing block has points in more sub-voxels, or of more passes, than the memory can hold',
    advice: 'Set a larger voxel in the spec, and check the files for points with random coordinates',
  });
}
