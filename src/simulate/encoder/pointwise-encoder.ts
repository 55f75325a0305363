import { createArithmeticEncoder, createSymbolModel } from './arithmetic-encoder.js';
import { createColourEncoder } from './colour-encoder.js';
import { createIntegerEncoder, modelTable } from './integer-encoder.js';
import type { RecordParts } from './record-parts.js';
import { createRunningMedian } from './running-median.js';
import { createTimeEncoder } from './time-encoder.js';
import { createWaveformEncoder, WAVEFORM_BYTES } from './waveform-encoder.js';

/** Kind of return by number of returns and return number, for formats 0 to 5 (0 to 7 each), valid or not. */
function kindOfReturn(n: number, r: number): number {
  const low = Math.min(n, r);
  const high = Math.max(n, r);
  if (low === 0) return 15 - high;
  return high < 6 ? (high * (high - 1)) / 2 + low - 1 : 15 - high + low;
}

/** Compresses points of formats 0 to 5, items of version 2: the first as it is, the others in one stream. */
export function encodePointwiseChunk(points: DataView, parts: RecordParts): Uint8Array {
  const { recordLength } = parts;
  const count = points.byteLength / recordLength;
  const encoder = createArithmeticEncoder();
  const core = createCoreEncoder(points);
  const time = parts.time >= 0 ? createTimeEncoder(encoder, points.getBigUint64(parts.time, true), false) : undefined;
  const colour = parts.colour >= 0 ? createColourEncoder(encoder) : undefined;
  const waveform = parts.waveform >= 0 ? createWaveformEncoder(encoder) : undefined;
  const extra = Array.from({ length: parts.extraLength }, () => createSymbolModel(256));
  const rgb = (at: number) => [0, 2, 4].map((i) => points.getUint16(at + parts.colour + i, true));
  const packet = (at: number) => new DataView(points.buffer, points.byteOffset + at + parts.waveform, WAVEFORM_BYTES);

  for (let i = 1; i < count; i++) {
    const at = i * recordLength;
    const last = at - recordLength;
    core.write(encoder, at);
    time?.(points.getBigUint64(at + parts.time, true));
    colour?.(rgb(at), rgb(last));
    waveform?.(packet(at), packet(last));
    for (const [j, model] of extra.entries()) {
      const place = parts.extra + j;
      encoder.symbol(model, (points.getUint8(at + place) - points.getUint8(last + place)) & 255);
    }
  }
  const coded = encoder.finish();
  const chunk = new Uint8Array(recordLength + coded.length);
  chunk.set(new Uint8Array(points.buffer, points.byteOffset, recordLength));
  chunk.set(coded, recordLength);
  return chunk;

  function createCoreEncoder(v: DataView) {
    const changeMasks = createSymbolModel(64);
    const bitModels = modelTable(256);
    const classModels = modelTable(256);
    const angleModels = modelTable(256);
    const userModels = modelTable(256);
    const intensityWriter = createIntegerEncoder(encoder, 16, 4);
    const sourceWriter = createIntegerEncoder(encoder, 16);
    const xWriter = createIntegerEncoder(encoder, 32, 2);
    const yWriter = createIntegerEncoder(encoder, 32, 22);
    const zWriter = createIntegerEncoder(encoder, 32, 20);
    const intensities = new Array<number>(16).fill(0);
    const heights = new Array<number>(8).fill(0);
    const medianX = Array.from({ length: 16 }, createRunningMedian);
    const medianY = Array.from({ length: 16 }, createRunningMedian);
    return {
      write(out: typeof encoder, at: number): void {
        const last = at - recordLength;
        const byte = (place: number) => v.getUint8(at + place);
        const lastByte = (place: number) => v.getUint8(last + place);
        const r = byte(14) & 7;
        const n = (byte(14) >> 3) & 7;
        const kind = kindOfReturn(n, r);
        const intensity = v.getUint16(at + 12, true);
        const source = v.getUint16(at + 18, true);
        const lastSource = v.getUint16(last + 18, true);
        const changes =
          (Number(byte(14) !== lastByte(14)) << 5) |
          (Number(intensity !== intensities[kind]) << 4) |
          (Number(byte(15) !== lastByte(15)) << 3) |
          (Number(byte(16) !== lastByte(16)) << 2) |
          (Number(byte(17) !== lastByte(17)) << 1) |
          Number(source !== lastSource);
        out.symbol(changeMasks, changes);
        if (changes & 32) out.symbol(bitModels(lastByte(14)), byte(14));
        if (changes & 16) {
          intensityWriter.write(intensities[kind], intensity, Math.min(kind, 3));
          intensities[kind] = intensity;
        }
        if (changes & 8) out.symbol(classModels(lastByte(15)), byte(15));
        if (changes & 4) out.symbol(angleModels((byte(14) >> 6) & 1), (byte(16) - lastByte(16)) & 255);
        if (changes & 2) out.symbol(userModels(lastByte(17)), byte(17));
        if (changes & 1) sourceWriter.write(lastSource, source);

        const single = Number(n === 1);
        const dx = (v.getInt32(at, true) - v.getInt32(last, true)) | 0;
        const bitsX = xWriter.write(medianX[kind].value(), dx, single);
        medianX[kind].add(dx);
        const dy = (v.getInt32(at + 4, true) - v.getInt32(last + 4, true)) | 0;
        const bitsY = yWriter.write(medianY[kind].value(), dy, single + (Math.min(bitsX, 20) & ~1));
        medianY[kind].add(dy);
        const z = v.getInt32(at + 8, true);
        const level = Math.abs(n - r);
        zWriter.write(heights[level], z, single + (Math.min((bitsX + bitsY) >> 1, 18) & ~1));
        heights[level] = z;
      },
    };
  }
}
