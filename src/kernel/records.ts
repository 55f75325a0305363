import { loops, type Numbers, type Place, STRIP, takePlace } from './loops.js';

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
  loops.takeBytes(window.at + offset, step, count, bytes.at, shift, mask);
  hand(bytes, count, into, at);
}

/** Two bytes a record, little end first. */
export function takeShorts(offset: number, { step, count, at }: Taking, into: Uint16Array): void {
  loops.takeShorts(window.at + offset, step, count, shorts.at);
  hand(shorts, count, into, at);
}

/** Eight bytes a record, bit for bit. */
export function takeDoubles(offset: number, { step, count, at }: Taking, into: Float64Array): void {
  loops.takeDoubles(window.at + offset, step, count, doubles.at);
  hand(doubles, count, into, at);
}

/** Three integers of four bytes that stand side by side. */
export function takeTriples(
  offset: number,
  { step, count, at }: Taking,
  x: Int32Array,
  y: Int32Array,
  z: Int32Array,
): void {
  loops.takeTriples(window.at + offset, step, count, triple[0].at, triple[1].at, triple[2].at);
  hand(triple[0], count, x, at);
  hand(triple[1], count, y, at);
  hand(triple[2], count, z, at);
}

/** Two bytes a record, signed. */
export function takeSignedShorts(offset: number, { step, count, at }: Taking, into: Int16Array): void {
  loops.takeShorts(window.at + offset, step, count, signed.at);
  hand(signed, count, into, at);
}

/** One signed byte a record, widened. */
export function takeSignedBytes(offset: number, { step, count, at }: Taking, into: Int16Array): void {
  loops.takeSignedBytes(window.at + offset, step, count, signed.at);
  hand(signed, count, into, at);
}

/** Flags as in formats 6 to 10, from their one byte: bits 0 to 3 stay, 6 and 7 come to 4 and 5. */
export function takeFlags(offset: number, { step, count, at }: Taking, into: Uint8Array): void {
  loops.takeFlags(window.at + offset, step, count, bytes.at);
  hand(bytes, count, into, at);
}

/** Flags as in formats 0 to 5, from two bytes: bits 5 to 7 of the second come to 0 to 2, 6 and 7 of the first to 4 and 5. */
export function takeLegacyFlags(offset: number, { step, count, at }: Taking, into: Uint8Array): void {
  loops.takeLegacyFlags(window.at + offset, step, count, bytes.at);
  hand(bytes, count, into, at);
}

function hand<View extends Numbers>(from: Place<View>, count: number, into: View, at: number): void {
  into.set(count === STRIP ? from.view : from.view.subarray(0, count), at);
}
