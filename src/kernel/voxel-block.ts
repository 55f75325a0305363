import { Fault } from '../fault.js';
import { bytesOf, countVoxels, type MomentVoxels, WIDE_BYTES } from './voxel-record.js';
import { compile } from './wasm.js';

/** What the compiled module exports; see voxels/assembly. A visit answers where its columns are, 0 for not memory enough. */
interface Voxels {
  memory: { readonly buffer: ArrayBuffer };
  openArea(column: number, row: number, side: number, most: number): number;
  addCubes(count: number): number;
  addWideCubes(count: number): number;
  passCount(): number;
  makeVoxels(): number;
  visitOutline(levels: number): number;
  visitPairs(points: number, rms: number, spread: number, cosine: number): number;
  visitPatches(points: number, variance: number, spread: number, slope: number): number;
  groupCount(): number;
  recordCount(): number;
}

// As in voxels/assembly/memory.ts.
const INPUT = 65_536;
const MOST_IN = 4096;
const PASSES = INPUT + MOST_IN * WIDE_BYTES;
const MOST_PASSES = 4096;
const GROUPS = PASSES + 4 * MOST_PASSES;
const GROUP_WORDS = 8;

/** Memory kept for the next area. */
const KEPT_BYTES = 128 << 20;

/** Where planes lie: three entries a plane. */
export interface PlanePositions {
  /** Lower corner of the voxel, in cubes. */
  corner: Int32Array;
  /** Mean place of the points, from there. */
  offset: Uint16Array;
}

/** Planes that two passes share. Lengths in the unit of the cubes; single precision is plenty from a corner on. */
export interface SharedPlanes extends PlanePositions {
  a: number;
  b: number;
  /** Voxels in which both passes have points, and points enough for a plane each. */
  shared: number;
  dense: number;
  count: number;
  /** Mean unit normal: three a plane. */
  normal: Float32Array;
  /** Distance of b from a along the normal. */
  distance: Float32Array;
}

/** Nearly level patches of a pass. */
export interface LevelPatches extends PlanePositions {
  pass: number;
  count: number;
  points: Uint32Array;
  /** Mean squared distance of the points from the plane, divisor n - 3. */
  variance: Float32Array;
  /** Height of the plane over the middle of the voxel, from its corner. */
  middle: Float32Array;
}

/** What the passes show of their outlines. Passes and pairs ascending. */
export interface BlockOutlines {
  passes: number[];
  /** For each pass: column and row of the cubes where it shows something upright, one after the other. */
  upright: Int32Array[];
  /** For every two passes that share squares of the plan: heights of b's lowest surface over a's, square by square. */
  shared: { a: number; b: number; above: Float32Array }[];
}

/** A group of records: of a kind, of one pass or two; two tallies; and where its records are in the columns of the kind. */
interface Group {
  kind: number;
  a: number;
  b: number;
  tallies: [number, number];
  begin: number;
  count: number;
}

let make: (() => Voxels) | undefined;

/**
 * The cubes of one area of ground, summed to voxels and looked at. One a thread is enough: opening an area forgets the
 * last. @throws Fault `memory-short` when there is not memory enough for an area
 */
export class VoxelBlock {
  #wasm: Voxels = instantiate();

  /**
   * Takes in the cubes of an area 128 cubes wide, those on its rim as well; cubes of one place and pass are put together.
   * @param side edge of a cube, in the unit of the sums
   * @returns the passes, ascending, and the largest number of points in a cube
   */
  open(column: number, row: number, side: number, parts: readonly MomentVoxels[]): { passes: number[]; most: number } {
    if (this.#wasm.memory.buffer.byteLength > KEPT_BYTES) this.#wasm = instantiate();
    const count = parts.reduce((sum, part) => sum + countVoxels(part), 0);
    enough(this.#wasm.openArea(column, row, side, count));
    const most = parts.map((part) => this.#add(part));
    enough(this.#wasm.makeVoxels());
    const passes = new Int32Array(this.#wasm.memory.buffer, PASSES, this.#wasm.passCount());
    return { passes: [...passes].sort((a, b) => a - b), most: Math.max(0, ...most) };
  }

  #add(cubes: MomentVoxels): number {
    const each = bytesOf(cubes.wide);
    const count = countVoxels(cubes);
    let most = 0;
    for (let from = 0; from < count; from += MOST_IN) {
      const n = Math.min(MOST_IN, count - from);
      const part = cubes.bytes.subarray(from * each, (from + n) * each);
      new Uint8Array(this.#wasm.memory.buffer, INPUT, part.byteLength).set(part);
      most = Math.max(most, cubes.wide ? this.#wasm.addWideCubes(n) : this.#wasm.addCubes(n));
    }
    return most;
  }

  /** Outline of every pass; `levels`: cubes above one another that count as upright. */
  outline(levels: number): BlockOutlines {
    const places = enough(this.#wasm.visitOutline(levels));
    const groups = this.#groups();
    const upright = groups.filter(({ kind }) => kind === 1);
    const heights = places + 8 * upright.reduce((sum, { count }) => sum + count, 0);
    const take = this.#taker();
    return {
      passes: upright.map(({ a }) => a),
      upright: upright.map((group) => take(Int32Array, places, 2, group)),
      shared: groups
        .filter(({ kind }) => kind === 0)
        .map((group) => ({ a: group.a, b: group.b, above: take(Float32Array, heights, 1, group) })),
    };
  }

  /** Every two passes in every voxel; by a, then b, planes in fixed order. */
  pairs(limits: { points: number; rms: number; spread: number; cosine: number }): SharedPlanes[] {
    const corners = enough(this.#wasm.visitPairs(limits.points, limits.rms, limits.spread, limits.cosine));
    const n = this.#wasm.recordCount();
    const take = this.#taker();
    return this.#groups().map((group) => ({
      a: group.a,
      b: group.b,
      shared: group.tallies[0],
      dense: group.tallies[1],
      count: group.count,
      corner: take(Int32Array, corners, 3, group),
      normal: take(Float32Array, corners + 12 * n, 3, group),
      distance: take(Float32Array, corners + 24 * n, 1, group),
      offset: take(Uint16Array, corners + 28 * n, 3, group),
    }));
  }

  /** Nearly level patches of every pass that has some, in fixed order. */
  patches(limits: { points: number; variance: number; spread: number; slope: number }): LevelPatches[] {
    const corners = enough(this.#wasm.visitPatches(limits.points, limits.variance, limits.spread, limits.slope));
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

  /** By a, then b. */
  #groups(): Group[] {
    const words = new Int32Array(this.#wasm.memory.buffer, GROUPS, this.#wasm.groupCount() * GROUP_WORDS);
    const groups = Array.from({ length: words.length / GROUP_WORDS }, (_, g): Group => {
      const [kind, a, b, , count, first, second, next] = words.subarray(g * GROUP_WORDS, (g + 1) * GROUP_WORDS);
      return { kind, a, b, tallies: [first, second], begin: next - count, count };
    });
    return groups.sort((p, q) => p.a - q.a || p.b - q.b);
  }

  /** Copies the part of a column that is a group's, so many entries a record. */
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

function enough(answer: number): number {
  // Addresses are without sign.
  if (answer !== 0) return answer >>> 0;
  throw new Fault({
    code: 'memory-short',
    where: 'comparison of passes',
    what: 'an area holds points in more cubes, or of more passes, than there is memory for',
    advice: 'Ask for a larger voxel in the spec, and look for points scattered at random',
  });
}
