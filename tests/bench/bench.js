// npm run bench: points per second and peak memory of whole checks, and ratios within this one run. Figures depend on the
// machine and its load; ratios much less. Nothing here decides a test.
import { execFileSync } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { availableParallelism, cpus, loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { createLazPerf } from 'laz-perf';
import { openCloud } from '../../dist/src/cloud/open.js';
import { encodeLaz } from '../../dist/test-clouds/encoder/laz-encoder.js';
import { writeBenchDelivery } from '../../dist/test-clouds/scene/bench-delivery.js';

const large = !process.argv.includes('--small');
const folder = mkdtempSync(join(tmpdir(), 'cloudassay-bench-'));
const rows = [];

function spec(name, ...requirements) {
  const path = join(folder, `${name}.json`);
  writeFileSync(path, JSON.stringify({ spec: '1', title: name, requirements }));
  return path;
}
const DENSITY = { id: 'DEN', check: 'density', min: 400, share: 0.9 };
const HEIGHT = { id: 'ACC', check: 'vertical-accuracy', maxRmse: 0.1, minPoints: 5 };
const PASSES = { id: 'REL', check: 'pass-agreement', maxRmsDz: 0.02 };
const density = spec('density', DENSITY);
const heights = spec('density-heights', DENSITY, HEIGHT);
const all = spec('density-heights-passes', DENSITY, HEIGHT, PASSES);
const points = join(folder, 'points.csv');
writeFileSync(
  points,
  `id,easting,northing,height\n${Array.from({ length: 30 }, (_, i) => `C${i},${561_003 + i * 2},${5_932_225 + ((i * 7) % 5) - 2},3.2`).join('\n')}\n`,
);

function check(label, delivery, file, workers) {
  const options = JSON.stringify({ delivery: [delivery], spec: file, points, workers });
  const script = fileURLToPath(new URL('./check-once.js', import.meta.url));
  const result = JSON.parse(
    execFileSync(process.execPath, [script, options], { encoding: 'utf8', maxBuffer: 1 << 26 }),
  );
  const rate = result.points / 1e6 / result.seconds;
  rows.push({ label, workers, rate, megabytes: result.megabytes });
  console.log(
    `  ${label.padEnd(58)} ${String(workers).padStart(2)} workers ${rate.toFixed(2).padStart(7)} M points/s ${result.megabytes.toFixed(0).padStart(5)} MB`,
  );
  return { ...result, rate };
}

/** The general-purpose decoder alone: every chunk of a LAZ file, one call a point, one thread. */
async function decodeWithLazPerf(path) {
  const bytes = readFileSync(path);
  const cloud = await openCloud(path);
  const spans = await cloud.spans(1_000_000);
  const { pointFormat, recordLength } = cloud.header;
  const module = await createLazPerf();
  const record = module._malloc(recordLength);
  const start = performance.now();
  let count = 0;
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
  await cloud.close();
  const rate = count / 1e3 / (performance.now() - start);
  console.log(
    `  ${`laz-perf decode alone, format ${pointFormat}`.padEnd(58)}  1 thread  ${rate.toFixed(2).padStart(7)} M points/s`,
  );
  return rate;
}

try {
  console.log(
    `${cpus()[0]?.model}, ${availableParallelism()} cores, load ${loadavg()[0].toFixed(1)}, Node ${process.version}\n`,
  );
  const las = join(folder, 'las');
  writeBenchDelivery(las, { points: 10_000_000 });
  console.log('Uncompressed LAS, format 6, 10 million points, 3 passes along a street');
  check('density + vertical accuracy', las, heights, 1);
  const twoHeights = check('density + vertical accuracy', las, heights, 2);
  const one = check('density + vertical accuracy + pass agreement', las, all, 1);
  const two = check('density + vertical accuracy + pass agreement', las, all, 2);
  const alone = check('density alone', las, density, 2);
  console.log(
    `  second worker: ${(two.rate / one.rate).toFixed(2)} x; with passes against density alone: ${(alone.rate / two.rate).toFixed(2)} x the time\n`,
  );

  console.log('LAZ, 50,000-point chunks');
  for (const format of [1, 6, 7]) {
    const from = join(folder, `las${format}`);
    const to = join(folder, `laz${format}`);
    mkdirSync(to, { recursive: true });
    const { files } = writeBenchDelivery(from, {
      points: 3_000_000,
      ...(format === 1 ? {} : { format }),
      tileMetres: 25,
    });
    for (const { path } of files) {
      const name = path.split('/').pop().replace('.las', '.laz');
      writeFileSync(
        join(to, name),
        encodeLaz(format === 1 ? asFormatOne(readFileSync(path)) : readFileSync(path), { chunkSize: 50_000 }),
      );
    }
    const base = await decodeWithLazPerf(join(to, files[0].path.split('/').pop().replace('.las', '.laz')));
    const onLaz = check(`format ${format}: density + vertical accuracy + pass agreement`, to, all, 2);
    console.log(`  whole check against laz-perf decode alone: ${(onLaz.rate / base).toFixed(2)} x\n`);
    rmSync(from, { recursive: true, force: true });
  }

  if (large) {
    console.log('Memory: the same street with five times the points');
    const dense = join(folder, 'dense');
    writeBenchDelivery(dense, { points: 50_000_000, density: 4000 });
    const more = check('density + vertical accuracy + pass agreement, 50 million', dense, all, 2);
    console.log(
      `  peak memory 50 against 10 million points on the same area: ${(more.megabytes / two.megabytes).toFixed(3)} x; time a point: ${(two.rate / more.rate).toFixed(2)} x`,
    );
  }
  console.log(
    `\nGoals of this version: LAS heights >= 12 (${twoHeights.rate.toFixed(1)}), with passes >= 5 (${two.rate.toFixed(1)}) M points/s on 2 cores.`,
  );
} finally {
  if (existsSync(folder)) rmSync(folder, { recursive: true, force: true });
}

/** The same points as format 1 in LAS 1.2: what older scanners deliver. */
function asFormatOne(las6) {
  const view = new DataView(las6.buffer, las6.byteOffset, las6.byteLength);
  const start = view.getUint32(96, true);
  const count = Number(view.getBigUint64(247, true));
  const out = new Uint8Array(227 + count * 28);
  out.set(las6.subarray(0, 227));
  const target = new DataView(out.buffer);
  target.setUint8(25, 2);
  target.setUint16(6, 1, true);
  target.setUint16(94, 227, true);
  target.setUint32(96, 227, true);
  target.setUint32(100, 0, true);
  target.setUint8(104, 1);
  target.setUint16(105, 28, true);
  target.setUint32(107, count, true);
  const byReturn = new Uint32Array(5);
  for (let i = 0; i < count; i++) {
    const from = start + i * 30;
    const to = 227 + i * 28;
    out.set(las6.subarray(from, from + 14), to);
    const number = Math.min(5, view.getUint8(from + 14) & 15);
    const returns = Math.min(5, view.getUint8(from + 14) >> 4);
    if (number >= 1) byReturn[number - 1]++;
    target.setUint8(to + 14, number | (returns << 3));
    target.setUint8(to + 15, Math.min(31, view.getUint8(from + 16)));
    target.setUint16(to + 18, view.getUint16(from + 20, true), true);
    out.set(las6.subarray(from + 22, from + 30), to + 20);
  }
  for (let k = 0; k < 5; k++) target.setUint32(111 + k * 4, byReturn[k], true);
  return out;
}
