import { compile, fixedMemory } from './wasm.js';

/** Exports of the compiled loops; see assembly/ for each. Addresses (bytes) and counts are plain numbers. */
interface Loops {
  begin(): number;
  takeBytes(at: number, step: number, count: number, to: number, shift: number, mask: number): void;
  takeFlags(at: number, step: number, count: number, to: number): void;
  takeLegacyFlags(at: number, step: number, count: number, to: number): void;
  takeShorts(at: number, step: number, count: number, to: number): void;
  takeSignedBytes(at: number, step: number, count: number, to: number): void;
  takeDoubles(at: number, step: number, count: number, to: number): void;
  takeTriples(at: number, step: number, count: number, x: number, y: number, z: number): void;
  toWorld(
    raw: number,
    count: number,
    whole: number,
    scale: number,
    offset: number,
    unit: number,
    to: number,
    range: number,
  ): void;
  widenShorts(at: number, count: number, to: number): number;
  orBytes(at: number, count: number): number;
  countClassesAndReturns(classes: number, numbers: number, returns: number, count: number, to: number): void;
  rangeOfWhole(at: number, count: number, to: number): void;
  rangeOfNumbers(at: number, count: number, to: number): void;
  momentVoxels(
    east: number,
    north: number,
    up: number,
    pass: number,
    valid: number,
    count: number,
    side: number,
    quantum: number,
    voxelCount: number,
    voxels: number,
    table: number,
    mask: number,
    tableIndexes: number,
  ): number;
  clearVoxels(voxelCount: number, table: number, tableIndexes: number): void;
  countRuns(east: number, north: number, pass: number, valid: number, count: number, side: number, to: number): number;
  cutByBlock(
    voxels: number,
    count: number,
    voxelBytes: number,
    shift: number,
    heads: number,
    room: number,
    marks: number,
    to: number,
  ): number;
  cutGroupCount(): number;
  prepareTimeCells(at: number, heads: number, room: number, table: number, size: number): void;
  timeCells(
    east: number,
    north: number,
    pass: number,
    valid: number,
    time: number,
    count: number,
    side: number,
  ): number;
  copyTimeCells(to: number, room: number): number;
  clearTimeCells(): void;
}

/** Points a loop processes in one call: its input and output then stay in the second-level cache. */
export const STRIP = 2048;

/** Bytes of the loops' memory, from which each module allocates its regions once. */
const MEMORY_BYTES = 6 << 20;
const memory = fixedMemory(MEMORY_BYTES);

/** The compiled loops, one instance a thread. */
export const loops = compile<Loops>('loops')({ env: { memory } });

let nextFree = Math.ceil(loops.begin() / 16) * 16;

/** A region of the loops' memory: its address, and a view of it. */
export interface Region<View> {
  readonly address: number;
  readonly view: View;
}

/** Typed arrays that can be in the loops' memory. */
export type Numbers = Uint8Array | Uint16Array | Int16Array | Int32Array | Uint32Array | Float64Array;

/**
 * Allocates a region that is never freed. A module's region is scratch memory: its content is not kept between calls.
 * @throws RangeError when the memory of the loops is full
 */
export function allocate<View extends Numbers>(
  Maker: { new (buffer: ArrayBuffer, at: number, length: number): View; readonly BYTES_PER_ELEMENT: number },
  length: number,
): Region<View> {
  const at = nextFree;
  const end = Math.ceil((at + length * Maker.BYTES_PER_ELEMENT) / 16) * 16;
  // Some loops read a little past the end of their input.
  if (end > MEMORY_BYTES - 64) throw new RangeError('the memory of the loops is full');
  nextFree = end;
  return { address: at, view: new Maker(memory.buffer, at, length) };
}

/** Whether an array is in the loops' memory. */
function isWithin(array: Numbers): boolean {
  return array.buffer === memory.buffer;
}

/**
 * Address at which the loops can read entries `from` to `from + count` of an array: the array's own address if it is in the
 * loops' memory; otherwise the entries are copied to `region` first.
 */
export function inputAddress<View extends Numbers>(
  array: View,
  from: number,
  count: number,
  region: Region<View>,
): number {
  if (isWithin(array)) return array.byteOffset + from * array.BYTES_PER_ELEMENT;
  region.view.set(array.subarray(from, from + count));
  return region.address;
}

/** Address at which the loops write entries from `from` on: in the array itself, or in `region`, from where `copyBack` copies. */
export function outputAddress<View extends Numbers>(array: View, from: number, region: Region<View>): number {
  return isWithin(array) ? array.byteOffset + from * array.BYTES_PER_ELEMENT : region.address;
}

/** Copies output from `region` to the array, unless the loops wrote to the array itself. */
export function copyBack<View extends Numbers>(array: View, from: number, count: number, region: Region<View>): void {
  if (!isWithin(array)) array.set(count === region.view.length ? region.view : region.view.subarray(0, count), from);
}
