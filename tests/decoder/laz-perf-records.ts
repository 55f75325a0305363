import { createLazPerf } from 'laz-perf';
import type { ChunkPlace } from '../../src/simulate/encoder/laz-encoder.js';

const perf = await createLazPerf();

/** Records as laz-perf 0.0.7 decodes them: formats 0 to 3 and 6 to 8, items of versions 2 and 3. */
export function decodeByLazPerf(
  laz: Uint8Array,
  chunks: readonly ChunkPlace[],
  format: number,
  length: number,
): Uint8Array {
  const records = new Uint8Array(chunks.reduce((sum, chunk) => sum + chunk.points, 0) * length);
  const out = perf._malloc(length);
  let at = 0;
  for (const chunk of chunks) {
    const bytes = laz.subarray(chunk.begin, chunk.end);
    const input = perf._malloc(bytes.length + 1024);
    perf.HEAPU8.set(bytes, input);
    const reader = new perf.ChunkDecoder();
    reader.open(format, length, input);
    for (let i = 0; i < chunk.points; i++, at += length) {
      reader.getPoint(out);
      records.set(perf.HEAPU8.subarray(out, out + length), at);
    }
    reader.delete();
    perf._free(input);
  }
  perf._free(out);
  return records;
}
