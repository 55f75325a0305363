import { Fault } from '../fault.js';
import { bytesOf, type Cubes, countCubes, WIDE_BYTES } from './cubes.js';
import { compile } from './wasm.js';

/** What the compiled module exports; see voxels/assembly. */
interface Voxels {
  memory: { readonly buffer: ArrayBuffer };
  openArea(column: number, row: number, side: number, most: number): number;
  addCubes(count: number): number;
  addWideCubes(count: number): number;
  makeVoxels(): number;
  visitOutline(levels: number): number;
  visitPairs(points: number, rms: number, spread: number, cosine: number): number;
  visitPatches(points: number, variance: number, spread: number, slope: number): number;
}

// As in voxels/assembly/memory.ts.
const INPUT = 65_536;
const MOST_IN = 4096;
const MOST_OUT = 4096;
const OUTPUT = INPUT + MOST_IN * WIDE_BYTES;

/** Memory kept for the next area. */
const KEPT_BYTES = 128 << 20;

/** Records that are handed on, `count` of them; look at them before returning. */
export interface Records {
  /** 12 words a record. */
  words: Int32Array;
  /** 24 shorts a record. */
  shorts: Uint16Array;
  /** 12 numbers of single precision a record. */
  singles: Float32Array;
  /** 6 numbers of double precision a record. */
  doubles: Float64Array;
}
export const RECORD = { words: 12, shorts: 24, singles: 12, doubles: 6 } as const;

let make: ((imports?: object) => Voxels) | undefined;

/**
 * The cubes of one area of ground, summed to voxels and looked at. One a thread is enough: opening an area forgets the
 * last. @throws Fault `memory-short` when there is not memory enough for an area
 */
export class VoxelArea {
  #wasm: Voxels;
  #visit: (records: Records, count: number) => void = () => {};

  constructor() {
    this.#wasm = this.#instantiate();
  }

  #instantiate(): Voxels {
    make ??= compile<Voxels>('kernel/voxels.wasm');
    const wasm = make({
      env: {
        take: (count: number) => {
          const { buffer } = wasm.memory;
          this.#visit(
            {
              words: new Int32Array(buffer, OUTPUT, MOST_OUT * RECORD.words),
              shorts: new Uint16Array(buffer, OUTPUT, MOST_OUT * RECORD.shorts),
              singles: new Float32Array(buffer, OUTPUT, MOST_OUT * RECORD.singles),
              doubles: new Float64Array(buffer, OUTPUT, MOST_OUT * RECORD.doubles),
            },
            count,
          );
        },
      },
    });
    return wasm;
  }

  /**
   * Takes in the cubes of an area 128 cubes wide, those on its rim as well; cubes of one place and pass are put together.
   * @param side edge of a cube, in the unit of the sums
   * @returns the largest number of points in a cube
   */
  open(column: number, row: number, side: number, parts: readonly Cubes[]): number {
    if (this.#wasm.memory.buffer.byteLength > KEPT_BYTES) this.#wasm = this.#instantiate();
    const count = parts.reduce((sum, part) => sum + countCubes(part), 0);
    enough(this.#wasm.openArea(column, row, side, count));
    const most = parts.map((part) => this.#add(part));
    enough(this.#wasm.makeVoxels());
    return Math.max(0, ...most);
  }

  #add(cubes: Cubes): number {
    const each = bytesOf(cubes.wide);
    const count = countCubes(cubes);
    let most = 0;
    for (let from = 0; from < count; from += MOST_IN) {
      const n = Math.min(MOST_IN, count - from);
      const part = cubes.bytes.subarray(from * each, (from + n) * each);
      new Uint8Array(this.#wasm.memory.buffer, INPUT, part.byteLength).set(part);
      most = Math.max(most, cubes.wide ? this.#wasm.addWideCubes(n) : this.#wasm.addCubes(n));
    }
    return most;
  }

  /** Outline of every pass; `levels`: cubes above one another that count as upright. Records: see visit.ts. */
  outline(levels: number, visit: (records: Records, count: number) => void): void {
    this.#visit = visit;
    enough(this.#wasm.visitOutline(levels));
  }

  /** Every two passes in every voxel. Records: see visit.ts. */
  pairs(
    limits: { points: number; rms: number; spread: number; cosine: number },
    visit: (records: Records, count: number) => void,
  ): void {
    this.#visit = visit;
    enough(this.#wasm.visitPairs(limits.points, limits.rms, limits.spread, limits.cosine));
  }

  /** Nearly level patches of every pass. Records: see visit.ts. */
  patches(
    limits: { points: number; variance: number; spread: number; slope: number },
    visit: (records: Records, count: number) => void,
  ): void {
    this.#visit = visit;
    enough(this.#wasm.visitPatches(limits.points, limits.variance, limits.spread, limits.slope));
  }
}

function enough(answer: number): void {
  if (answer !== 0) return;
  throw new Fault({
    code: 'memory-short',
    where: 'comparison of passes',
    what: 'an area holds points in more cubes than there is memory for',
    advice: 'Ask for a larger voxel in the spec, and look for points scattered at random',
  });
}
