import { allocate, copyBack, loops, type Numbers, outputAddress, type Region, STRIP } from './loops.js';

/** The longest record a LAS file can have. */
const LONGEST = 65_535;

const window = allocate(Uint8Array, Math.max(64 << 10, LONGEST + 1));
const bytes: Region<Uint8Array> = allocate(Uint8Array, STRIP);
const shorts: Region<Uint16Array> = allocate(Uint16Array, STRIP);
const signed: Region<Int16Array> = {
  address: shorts.address,
  view: new Int16Array(shorts.view.buffer, shorts.address, STRIP),
};
const doubles: Region<Float64Array> = allocate(Float64Array, STRIP);
const triple = [allocate(Int32Array, STRIP), allocate(Int32Array, STRIP), allocate(Int32Array, STRIP)] as const;

/** How many records of a length, bytes, are taken apart in one go. */
export function recordsInStrip(recordLength: number): number {
  return Math.min(STRIP, Math.floor(window.view.length / recordLength));
}

/** Brings raw records, not more than a strip of them, to where their columns can be taken out. */
export function bringRecords(records: Uint8Array): void {
  window.view.set(records);
}

/** What the columns of the records at hand have in common: bytes a record, records, and where in a column the first goes. */
export interface Taking {
  step: number;
  count: number;
  at: number;
}

/** Bits of one byte a record: `(byte >> shift) & mask`. */
export function takeBits(offset: number, { step, count, at }: Taking, into: Uint8Array, shift = 0, mask = 255): void {
  loops.takeBytes(window.address + offset, step, count, outputAddress(into, at, bytes), shift, mask);
  copyBack(into, at, count, bytes);
}

/** Takes one column, whose bytes begin at `offset` of every record. */
type Take<View> = (offset: number, taking: Taking, into: View) => void;

/** What takes a column from a place in the record, by one of the loops. */
function taker<View extends Numbers>(
  loop: (at: number, step: number, count: number, to: number) => void,
  place: Region<View>,
): Take<View> {
  return (offset, { step, count, at }, into) => {
    loop(window.address + offset, step, count, outputAddress(into, at, place));
    copyBack(into, at, count, place);
  };
}

/** Two bytes a record, little end first. */
export const takeShorts = taker(loops.takeShorts, shorts);

/** Two bytes a record, signed. */
export const takeSignedShorts = taker(loops.takeShorts, signed);

/** One signed byte a record, widened. */
export const takeSignedBytes = taker(loops.takeSignedBytes, signed);

/** Eight bytes a record, bit for bit. */
export const takeDoubles = taker(loops.takeDoubles, doubles);

/** Flags as in formats 6 to 10, from their one byte: bits 0 to 3 stay, 6 and 7 come to 4 and 5. */
export const takeFlags = taker(loops.takeFlags, bytes);

/** Flags as in formats 0 to 5, from two bytes: bits 5 to 7 of the second come to 0 to 2, 6 and 7 of the first to 4 and 5. */
export const takeLegacyFlags = taker(loops.takeLegacyFlags, bytes);

/** Three integers of four bytes that stand side by side. */
export function takeTriples(
  offset: number,
  { step, count, at }: Taking,
  x: Int32Array,
  y: Int32Array,
  z: Int32Array,
): void {
  const [first, second, third] = triple;
  loops.takeTriples(
    window.address + offset,
    step,
    count,
    outputAddress(x, at, first),
    outputAddress(y, at, second),
    outputAddress(z, at, third),
  );
  copyBack(x, at, count, first);
  copyBack(y, at, count, second);
  copyBack(z, at, count, third);
}
