import { allocate, copyBack, loops, type Numbers, outputAddress, type Region, STRIP } from './loops.js';

/** Longest point record of a LAS file: its length is a 16-bit number. */
const MAX_RECORD_BYTES = 65_535;

const window = allocate(Uint8Array, Math.max(64 << 10, MAX_RECORD_BYTES + 1));
const bytes: Region<Uint8Array> = allocate(Uint8Array, STRIP);
const shorts: Region<Uint16Array> = allocate(Uint16Array, STRIP);
const signed: Region<Int16Array> = {
  address: shorts.address,
  view: new Int16Array(shorts.view.buffer, shorts.address, STRIP),
};
const doubles: Region<Float64Array> = allocate(Float64Array, STRIP);
const triple = [allocate(Int32Array, STRIP), allocate(Int32Array, STRIP), allocate(Int32Array, STRIP)] as const;

/** How many records of a length (bytes) are unpacked in one call. */
export function recordsInStrip(recordLength: number): number {
  return Math.min(STRIP, Math.floor(window.view.length / recordLength));
}

/** Copies raw records, at most a strip of them, to the loops' memory. The functions below then read their columns. */
export function loadRecords(records: Uint8Array): void {
  window.view.set(records);
}

/** The loaded records: bytes a record, number of records, and the index in the output columns of the first one. */
export interface RecordStrip {
  step: number;
  count: number;
  at: number;
}

/** Reads bits of one byte a record: `(byte >> shift) & mask`. */
export function takeBits(
  offset: number,
  { step, count, at }: RecordStrip,
  into: Uint8Array,
  shift = 0,
  mask = 255,
): void {
  loops.takeBytes(window.address + offset, step, count, outputAddress(into, at, bytes), shift, mask);
  copyBack(into, at, count, bytes);
}

/** Reads one column; its bytes begin at `offset` of every record. */
type ReadColumn<View> = (offset: number, strip: RecordStrip, into: View) => void;

/** Makes a function that reads a column by one of the loops. */
function columnReader<View extends Numbers>(
  loop: (at: number, step: number, count: number, to: number) => void,
  region: Region<View>,
): ReadColumn<View> {
  return (offset, { step, count, at }, into) => {
    loop(window.address + offset, step, count, outputAddress(into, at, region));
    copyBack(into, at, count, region);
  };
}

/** Reads u16, little-endian. */
export const takeShorts = columnReader(loops.takeShorts, shorts);

/** Reads i16, little-endian. */
export const takeSignedShorts = columnReader(loops.takeShorts, signed);

/** Reads i8, widened to i16. */
export const takeSignedBytes = columnReader(loops.takeSignedBytes, signed);

/** Reads f64, little-endian. */
export const takeDoubles = columnReader(loops.takeDoubles, doubles);

/** Reads the flags of point formats 6 to 10 from one byte: bits 0 to 3 stay, bits 6 and 7 go to bits 4 and 5. */
export const takeFlags = columnReader(loops.takeFlags, bytes);

/** Reads the flags of formats 0 to 5 from two bytes: bits 5 to 7 of the second go to 0 to 2, bits 6 and 7 of the first to 4 and 5. */
export const takeLegacyFlags = columnReader(loops.takeLegacyFlags, bytes);

/** Reads three consecutive i32, such as x, y and z. */
export function takeTriples(
  offset: number,
  { step, count, at }: RecordStrip,
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
