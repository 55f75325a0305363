import { type ArithmeticEncoder, createArithmeticEncoder, createSymbolModel } from './arithmetic-encoder.js';
import { createIntegerEncoder, modelTable } from './integer-encoder.js';
import type { RecordParts } from './record-parts.js';
import { createWaveformEncoder, WAVEFORM_BYTES } from './waveform-encoder.js';

const middle = (values: readonly number[]): number => [...values].sort((a, b) => a - b)[1];

/** Compresses points of formats 0 to 5 with items of version 1, as writers did until about 2011. */
export function encodeOldChunk(points: DataView, parts: RecordParts): Uint8Array {
  const { recordLength } = parts;
  const count = points.byteLength / recordLength;
  const encoder = createArithmeticEncoder();
  const core = createOldCore(points, encoder, recordLength);
  const time = parts.time >= 0 ? createOldTime(encoder, points.getBigUint64(parts.time, true)) : undefined;
  const masks = createSymbolModel(64);
  const colours = createIntegerEncoder(encoder, 8, 6);
  const waveform = parts.waveform >= 0 ? createWaveformEncoder(encoder) : undefined;
  const extra = createIntegerEncoder(encoder, 8, Math.max(1, parts.extraLength));
  const packet = (at: number) => new DataView(points.buffer, points.byteOffset + at + parts.waveform, WAVEFORM_BYTES);

  for (let i = 1; i < count; i++) {
    const at = i * recordLength;
    const last = at - recordLength;
    core(at);
    time?.(points.getBigUint64(at + parts.time, true));
    if (parts.colour >= 0) {
      const byte = (record: number, j: number) => points.getUint8(record + parts.colour + j);
      let mask = 0;
      for (let j = 0; j < 6; j++) if (byte(at, j) !== byte(last, j)) mask |= 1 << j;
      encoder.symbol(masks, mask);
      for (let j = 0; j < 6; j++) if (mask & (1 << j)) colours.write(byte(last, j), byte(at, j), j);
    }
    waveform?.(packet(at), packet(last));
    for (let j = 0; j < parts.extraLength; j++) {
      extra.write(points.getUint8(last + parts.extra + j), points.getUint8(at + parts.extra + j), j);
    }
  }
  const coded = encoder.finish();
  const chunk = new Uint8Array(recordLength + coded.length);
  chunk.set(new Uint8Array(points.buffer, points.byteOffset, recordLength));
  chunk.set(coded, recordLength);
  return chunk;
}

function createOldCore(v: DataView, encoder: ArithmeticEncoder, recordLength: number) {
  const xWriter = createIntegerEncoder(encoder, 32);
  const yWriter = createIntegerEncoder(encoder, 32, 20);
  const zWriter = createIntegerEncoder(encoder, 32, 20);
  const intensities = createIntegerEncoder(encoder, 16);
  const angles = createIntegerEncoder(encoder, 8, 2);
  const sources = createIntegerEncoder(encoder, 16);
  const changeMasks = createSymbolModel(64);
  const bitModels = modelTable(256);
  const classModels = modelTable(256);
  const userModels = modelTable(256);
  const dxs = [0, 0, 0];
  const dys = [0, 0, 0];
  let place = 0;
  return (at: number): void => {
    const last = at - recordLength;
    const byte = (offset: number) => v.getUint8(at + offset);
    const lastByte = (offset: number) => v.getUint8(last + offset);
    const difference = (offset: number) => (v.getInt32(at + offset, true) - v.getInt32(last + offset, true)) | 0;
    const bitsX = xWriter.write(middle(dxs), difference(0));
    const bitsY = yWriter.write(middle(dys), difference(4), Math.min(bitsX, 19));
    const bits = (bitsX + bitsY) >> 1;
    zWriter.write(v.getInt32(last + 8, true), v.getInt32(at + 8, true), Math.min(bits, 19));
    dxs[place] = difference(0);
    dys[place] = difference(4);
    place = (place + 1) % 3;

    const intensity = v.getUint16(at + 12, true);
    const lastIntensity = v.getUint16(last + 12, true);
    const source = v.getUint16(at + 18, true);
    const lastSource = v.getUint16(last + 18, true);
    const changes =
      (Number(intensity !== lastIntensity) << 5) |
      (Number(byte(14) !== lastByte(14)) << 4) |
      (Number(byte(15) !== lastByte(15)) << 3) |
      (Number(byte(16) !== lastByte(16)) << 2) |
      (Number(byte(17) !== lastByte(17)) << 1) |
      Number(source !== lastSource);
    encoder.symbol(changeMasks, changes);
    if (changes & 32) intensities.write(lastIntensity, intensity);
    if (changes & 16) encoder.symbol(bitModels(lastByte(14)), byte(14));
    if (changes & 8) encoder.symbol(classModels(lastByte(15)), byte(15));
    if (changes & 4) angles.write(lastByte(16), byte(16), Number(bits < 3));
    if (changes & 2) encoder.symbol(userModels(lastByte(17)), byte(17));
    if (changes & 1) sources.write(lastSource, source);
  };
}

/** Multiples 0 to 509 of the last difference, 510 for a time as it is, 511 for a time as before. */
function createOldTime(encoder: ArithmeticEncoder, first: bigint) {
  const MOST = 509;
  const PLAIN = 510;
  const UNCHANGED = 511;
  const afterZero = createSymbolModel(3);
  const multiples = createSymbolModel(512);
  const integers = createIntegerEncoder(encoder, 32, 6);
  let last = first;
  let lastDifference = 0;
  let misfits = 0;
  const plain = (time: bigint): void => {
    encoder.raw(32, Number(time & 0xffffffffn));
    encoder.raw(32, Number(time >> 32n));
  };
  return (time: bigint): void => {
    const exact = BigInt.asIntN(64, time - last);
    const fits = BigInt.asIntN(32, exact) === exact;
    const difference = Number(BigInt.asIntN(32, exact));
    last = time;
    if (lastDifference === 0) {
      encoder.symbol(afterZero, exact === 0n ? 0 : fits ? 1 : 2);
      if (exact === 0n) return;
      if (!fits) {
        plain(time);
        return;
      }
      integers.write(0, difference, 0);
      lastDifference = difference;
      return;
    }
    if (exact === 0n || !fits) {
      encoder.symbol(multiples, exact === 0n ? UNCHANGED : PLAIN);
      if (!fits) plain(time);
      return;
    }
    const ratio = Math.fround(Math.fround(difference) / Math.fround(lastDifference));
    const code = Math.max(0, Math.min(MOST, Math.trunc(ratio >= 0 ? ratio + 0.5 : ratio - 0.5)));
    encoder.symbol(multiples, code);
    const predicted = code === 0 ? Math.trunc(lastDifference / 4) : Math.imul(code, lastDifference);
    integers.write(predicted, difference, code === 0 ? 2 : code === 1 ? 1 : code < 10 ? 3 : code < 50 ? 4 : 5);
    if (code === 1) {
      lastDifference = difference;
      misfits = 0;
    } else if (code === 0 || code === MOST) {
      if (++misfits > 3) {
        lastDifference = difference;
        misfits = 0;
      }
    }
  };
}
