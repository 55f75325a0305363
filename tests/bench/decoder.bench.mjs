// Speed of the LAZ decoder beside laz-perf, on the same simulated street, in one run. After `npm run build`:
//   node tests/bench/decoder.bench.mjs [millions of points, 2 by default]
// Points a second of processor time of one core, best of several rounds in turn, so that other work on the machine counts
// little. Whatever is compared decodes every chunk and looks at every x.
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createLazPerf } from 'laz-perf';

const built = (path) => import(new URL(`../../dist/${path}`, import.meta.url).href);
const { writeBenchDelivery } = await built('test-clouds/scene/bench-delivery.js');
const { encodeLazWithChunks } = await built('test-clouds/encoder/laz-encoder.js');
const { createLazDecoder } = await built('src/cloud/decoder/laz-decoder.js');

const ROUNDS = 6;
const RECORD_LENGTH = { 1: 28, 6: 30, 7: 36 };
const ITEMS = { 1: [6, 20, 7, 8], 6: [10, 30], 7: [10, 30, 11, 6] };
const COLUMN_SETS = {
  'all columns': [
    ...['xyz', 'intensity', 'returns', 'flags', 'classification', 'scannerChannel', 'scanAngle', 'userData'],
    ...['pointSourceId', 'gpsTime', 'colour'],
  ],
  'xyz, class, returns, flags, source, time': [
    ...['xyz', 'classification', 'returns', 'flags', 'pointSourceId', 'gpsTime'],
  ],
  'xyz, class': ['xyz', 'classification'],
};

const points = Math.round(Number(process.argv[2] ?? 2) * 1e6);
const street = makeStreet(points);
const perf = await createLazPerf();
const decoder = await createLazDecoder();
for (const format of [1, 6, 7]) compare(format);

/** Records of format 7 of a street scanned in three passes. */
function makeStreet(count) {
  const folder = mkdtempSync(join(tmpdir(), 'decoder-bench-'));
  const { files } = writeBenchDelivery(folder, { points: count, format: 7, tileMetres: 200 });
  const parts = files.map((file) => {
    const las = readFileSync(file.path);
    const begin = las.readUInt32LE(96);
    return las.subarray(begin, begin + 36 * file.points);
  });
  rmSync(folder, { recursive: true });
  return Buffer.concat(parts);
}

function compare(format) {
  const { bytes, chunks } = encodeLazWithChunks(lasOf(format));
  const perPoint = chunks.reduce((sum, chunk) => sum + chunk.end - chunk.begin, 0) / points;
  console.log(
    `format ${format}: ${(points / 1e6).toFixed(1)} M points, ${perPoint.toFixed(2)} bytes a point, chunks of 50,000`,
  );
  const ways = Object.entries(COLUMN_SETS).map(([name, columns]) => ({
    name,
    work: decodeByUs(format, bytes, chunks, columns),
  }));
  ways.unshift({ name: 'laz-perf', work: decodeByLazPerf(format, bytes, chunks) });
  const best = ways.map(() => Infinity);
  for (let round = 0; round < ROUNDS; round++) {
    for (const [i, way] of ways.entries()) best[i] = Math.min(best[i], processorSeconds(way.work));
  }
  for (const [i, way] of ways.entries()) {
    const ratio = i === 0 ? '' : `  ${(best[0] / best[i]).toFixed(2)} times laz-perf`;
    console.log(`  ${way.name.padEnd(42)} ${(points / best[i] / 1e6).toFixed(2)} M points/s${ratio}`);
  }
}

/** The street in another format, with nothing but a header. */
function lasOf(format) {
  const length = RECORD_LENGTH[format];
  const las = Buffer.alloc(375 + points * length);
  las.write('LASF');
  las.set([1, 4], 24);
  las.writeUInt16LE(375, 94);
  las.writeUInt32LE(375, 96);
  las[104] = format;
  las.writeUInt16LE(length, 105);
  for (let axis = 0; axis < 3; axis++) las.writeDoubleLE(0.001, 131 + 8 * axis);
  las.writeBigUInt64LE(BigInt(points), 247);
  for (let i = 0; i < points; i++) {
    const from = 36 * i;
    const to = 375 + length * i;
    street.copy(las, to, from, from + (format === 1 ? 14 : length));
    if (format !== 1) continue;
    const [returns, bits] = [street[from + 14], street[from + 15]];
    las[to + 14] = Math.min(returns & 15, 7) | (Math.min(returns >> 4, 7) << 3) | ((bits >> 6) << 6);
    las[to + 15] = Math.min(street[from + 16], 31) | ((bits & 7) << 5);
    las.writeInt8(Math.round(street.readInt16LE(from + 18) * 0.003), to + 16);
    las[to + 17] = street[from + 17];
    street.copy(las, to + 18, from + 20, from + 30);
  }
  return las;
}

function decodeByUs(format, bytes, chunks, columns) {
  const items = [];
  for (let i = 0; i < ITEMS[format].length; i += 2) {
    items.push({ type: ITEMS[format][i], size: ITEMS[format][i + 1], version: format === 1 ? 2 : 3 });
  }
  const layout = { format, items, recordLength: RECORD_LENGTH[format], extraLength: 0 };
  const wanted = new Set(columns);
  let sum = 0;
  const sink = (batch) => {
    for (let i = 0; i < batch.count; i++) sum += batch.x[i];
  };
  return () => {
    decoder.open(layout, 'bench');
    for (const chunk of chunks)
      decoder.chunk(bytes.subarray(chunk.begin, chunk.end), chunk.points, wanted, sink, 'bench');
    return sum;
  };
}

function decodeByLazPerf(format, bytes, chunks) {
  const length = RECORD_LENGTH[format];
  const block = 16_384;
  return () => {
    let sum = 0;
    const out = perf._malloc(block * length);
    for (const chunk of chunks) {
      const input = perf._malloc(chunk.end - chunk.begin + 4096);
      perf.HEAPU8.set(bytes.subarray(chunk.begin, chunk.end), input);
      const reader = new perf.ChunkDecoder();
      reader.open(format, length, input);
      for (let first = 0; first < chunk.points; first += block) {
        const count = Math.min(block, chunk.points - first);
        for (let i = 0; i < count; i++) reader.getPoint(out + i * length);
        const view = new DataView(perf.HEAPU8.buffer, out, count * length);
        for (let i = 0; i < count; i++) sum += view.getInt32(i * length, true);
      }
      reader.delete();
      perf._free(input);
    }
    perf._free(out);
    return sum;
  };
}

function processorSeconds(work) {
  const before = process.cpuUsage();
  work();
  const { user, system } = process.cpuUsage(before);
  return (user + system) / 1e6;
}
