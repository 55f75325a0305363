import { compile, fixedMemory } from './wasm.js';

/** What the compiled loops export; see assembly/. Addresses and counts are plain numbers. */
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
  joinBits(at: number, count: number): number;
  countLabels(classes: number, numbers: number, returns: number, count: number, to: number): void;
  momentCubes(
    east: number,
    north: number,
    up: number,
    pass: number,
    valid: number,
    count: number,
    side: number,
    quantum: number,
    have: number,
    cubes: number,
    table: number,
    mask: number,
    places: number,
  ): number;
  forgetCubes(have: number, table: number, places: number): void;
  countRuns(east: number, north: number, pass: number, valid: number, count: number, side: number, to: number): number;
  cutByArea(
    cubes: number,
    count: number,
    each: number,
    shift: number,
    heads: number,
    room: number,
    marks: number,
    to: number,
  ): number;
  groupsCut(): number;
  prepareTimes(at: number, heads: number, room: number, table: number, size: number): void;
  timeCells(
    east: number,
    north: number,
    pass: number,
    valid: number,
    time: number,
    count: number,
    side: number,
  ): number;
  takeTimes(to: number, room: number): number;
  forgetTimes(): void;
}

/** Points that the loops work on in one go: what they read and write stays in the processor's second cache. */
export const STRIP = 2048;

/** Bytes of the loops' memory, from which each caller takes its places once. */
const ROOM = 6 << 20;
const memory = fixedMemory(ROOM);

/** The compiled loops, one instance a thread. */
export const loops = compile<Loops>('loops')({ env: { memory } });

let taken = Math.ceil(loops.begin() / 16) * 16;

/** A place in the loops' memory: its address, and a view on it. */
export interface Region<View> {
  readonly address: number;
  readonly view: View;
}

/** The columns that the loops know. */
export type Numbers = Uint8Array | Uint16Array | Int16Array | Int32Array | Uint32Array | Float64Array;

/** Takes a place for good. Scratch of a module: what is there does not outlast a call. */
export function allocate<View extends Numbers>(
  Maker: { new (buffer: ArrayBuffer, at: number, length: number): View; readonly BYTES_PER_ELEMENT: number },
  length: number,
): Region<View> {
  const at = taken;
  const end = Math.ceil((at + length * Maker.BYTES_PER_ELEMENT) / 16) * 16;
  // Some loops read a little past the end of what they are given.
  if (end > ROOM - 64) throw new RangeError('the memory of the loops is full');
  taken = end;
  return { address: at, view: new Maker(memory.buffer, at, length) };
}

/** Whether the loops reach an array where it is. */
function isWithin(array: Numbers): boolean {
  return array.buffer === memory.buffer;
}

/**
 * Where the loops find entries `from` to `from + count` of an array: where they are, if that is the loops' memory, or else
 * copied to `place`.
 */
export function inputAddress<View extends Numbers>(
  array: View,
  from: number,
  count: number,
  place: Region<View>,
): number {
  if (isWithin(array)) return array.byteOffset + from * array.BYTES_PER_ELEMENT;
  place.view.set(array.subarray(from, from + count));
  return place.address;
}

/** Where the loops are to write entries of an array from `from` on: straight there, or to `place`, for `deliver` to copy. */
export function outputAddress<View extends Numbers>(array: View, from: number, place: Region<View>): number {
  return isWithin(array) ? array.byteOffset + from * array.BYTES_PER_ELEMENT : place.address;
}

/** Copies what was written to `place` where it belongs, unless it is there. */
export function copyBack<View extends Numbers>(array: View, from: number, count: number, place: Region<View>): void {
  if (!isWithin(array)) array.set(count === place.view.length ? place.view : place.view.subarray(0, count), from);
}
