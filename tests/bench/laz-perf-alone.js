import { readFileSync } from 'node:fs';
import { createLazPerf } from 'laz-perf';
import { openCloud } from '../../dist/src/cloud/open.js';

/**
 * The general-purpose decoder alone: every chunk of some LAZ files, one call a point, one thread, nothing done with the
 * points. @returns million points a second
 */
export async function decodeWithLazPerf(paths) {
  const module = await createLazPerf();
  let count = 0;
  let milliseconds = 0;
  for (const path of paths) {
    const bytes = readFileSync(path);
    const cloud = await openCloud(path);
    const spans = await cloud.spans(1_000_000);
    const { pointFormat, recordLength } = cloud.header;
    const record = module._malloc(recordLength);
    const start = performance.now();
    for (const { pieces } of spans) {
      for (const { begin, end, points: inChunk } of pieces) {
        const input = module._malloc(end - begin);
        module.HEAPU8.set(bytes.subarray(begin, end), input);
        const decoder = new module.ChunkDecoder();
        decoder.open(pointFormat, recordLength, input);
        for (let i = 0; i < inChunk; i++) decoder.getPoint(record);
        count += inChunk;
        decoder.delete();
        module._free(input);
      }
    }
    milliseconds += performance.now() - start;
    module._free(record);
    await cloud.close();
  }
  return count / 1e3 / milliseconds;
}
