import { deliver, loops, type Place, STRIP, takePlace, target } from './loops.js';

/** The longest record a LAS file can have. */
const LONGEST = 65_535;

const window = takePlace(Uint8Array, Math.max(64 << 10, LONGEST + 1));
const bytes = takePlace(Uint8Array, STRIP);
const shorts = takePlace(Uint16Array, STRIP);
const signed: Place<Int16Array> = { at: shorts.at, view: new Int16Array(shorts.view.buffer, shorts.at, STRIP) };
const doubles = takePlace(Float64Array, STRIP);
const triple = [takePlace(Int32Array, STRIP), takePlace(Int32Array, STRIP), takePlace(Int32Array, STRIP)] as const;

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
  loops.takeBytes(window.at + offset, step, count, target(into, at, bytes), shift, mask);
  deliver(into, at, count, bytes);
}

/** Two bytes a record, little end first. */
export function takeShorts(offset: number, { step, count, at }: Taking, into: Uint16Array): void {
  loops.takeShorts(window.at + offset, step, count, target(into, at, shorts));
  deliver(into, at, count, shorts);
}

/** Eight bytes a record, bit for bit. */
export function takeDoubles(offset: number, { step, count, at }: Taking, into: Float64Array): void {
  loops.takeDoubles(window.at + offset, step, count, target(into, at, doubles));
  deliver(into, at, count, doubles);
}

/** Three integers of four bytes that stand side by side. */
export function takeTriples(
  offset: number,
  { step, count, at }: Taking,
  x: Int32Array,
  y: Int32Array,
  z: Int32Array,
): void {
  const [first, second, third] = triple;
  loops.takeTriples(window.at + offset, step, count, target(x, at, first), target(y, at, second), target(z, at, third));
  deliver(x, at, count, first);
  deliver(y, at, count, second);
  deliver(z, at, count, third);
}

/** Two bytes a record, signed. */
export function takeSignedShorts(offset: number, { step, count, at }: Taking, into: Int16Array): void {
  loops.takeShorts(window.at + offset, step, count, target(into, at, signed));
  deliver(into, at, count, signed);
}

/** One signed byte a record, widened. */
export function takeSignedBytes(offset: number, { step, count, at }: Taking, into: Int16Array): void {
  loops.takeSignedBytes(window.at + offset, step, count, target(into, at, signed));
  deliver(into, at, count, signed);
}

/** Flags as in formats 6 to 10, from their one byte: bits 0 to 3 stay, 6 and 7 come to 4 and 5. */
export function takeFlags(offset: number, { step, count, at }: Taking, into: Uint8Array): void {
  loops.takeFlags(window.at + offset, step, count, target(into, at, bytes));
  deliver(into, at, count, bytes);
}

/** Flags as in formats 0 to 5, from two bytes: bits 5 to 7 of the second come to 0 to 2, 6 and 7 of the first to 4 and 5. */
export function takeLegacyFlags(offset: number, { step, count, at }: Taking, into: Uint8Array): void {
  loops.takeLegacyFlags(window.at + offset, step, count, target(into, at, bytes));
  deliver(into, at, count, bytes);
}
