// npm run bench:damage: how much of the damage to compressed points is seen. One bit of the point block (first points, layers,
// chunk table) is turned at a time, and the file is read as any check reads it. Prints the table of specs/damaged-files.md.
// node tests/bench/bit-flips.js [--flips 1000] [--chunk 50000] [--seed 1] [--columns all|xyz]
import { createHash } from 'node:crypto';
import { ALL_COLUMNS } from '../../dist/src/cloud/columns.js';
import { openCloud } from '../../dist/src/cloud/open.js';
import { Fault } from '../../dist/src/fault.js';
import { encodeLaz } from '../../dist/src/simulate/encoder/laz-encoder.js';
import { usualDrives } from '../../dist/src/simulate/scene/drives.js';
import { Random } from '../../dist/src/simulate/scene/random.js';
import { scanToColumns } from '../../dist/src/simulate/scene/scanner.js';
import { createStreet } from '../../dist/src/simulate/scene/street.js';
import { writeLas } from '../../dist/src/simulate/writer/las-writer.js';
import { DVR90, UTM32 } from '../../dist/src/simulate/writer/reference-systems.js';
import { encodeCopc } from '../../dist/test-clouds/encoder/copc-encoder.js';

function option(name, otherwise) {
  const at = process.argv.indexOf(`--${name}`);
  return at < 0 ? otherwise : process.argv[at + 1];
}
const flips = Number(option('flips', 1000));
const chunkSize = Number(option('chunk', 50_000));
const seed = Number(option('seed', 1));
const columns = new Set(option('columns', 'all') === 'xyz' ? ['xyz'] : ALL_COLUMNS);

/** Three chunks of a street, so that a chunk has neighbours; colours drift from point to point as those of surfaces do. */
function street(points) {
  const scene = scanToColumns({
    street: createStreet({ seed }),
    passes: usualDrives({ passes: 2, density: points / 250 }),
    from: 0,
    to: 12,
    seed,
  });
  const random = new Random(seed);
  const n = Math.min(scene.count, points);
  const cut = Object.fromEntries(
    Object.entries(scene).map(([k, v]) => [k, typeof v === 'number' ? n : v.subarray(0, n)]),
  );
  for (const name of ['red', 'green', 'blue', 'nir']) {
    const values = new Uint16Array(n);
    for (let i = 0, v = 30_000; i < n; i++) {
      if (random.below(4) === 0) v = Math.min(65_535, Math.max(0, v + 256 * (random.below(21) - 10)));
      values[i] = v;
    }
    cut[name] = values;
  }
  return cut;
}

class Bytes {
  address = 'memory';
  name = 'memory.laz';
  identity = '';
  constructor(bytes) {
    this.bytes = bytes;
    this.size = bytes.length;
  }
  async read(begin, end) {
    if (!(begin >= 0 && begin <= end && end <= this.size))
      throw new Fault({ code: 'file-truncated', what: 'outside the file', where: this.name });
    return this.bytes.slice(begin, end);
  }
  async close() {}
}

const FIELDS =
  'x y z intensity returnNumber returnCount flags classification scannerChannel scanAngle userData pointSourceId gpsTime red green blue nir'.split(
    ' ',
  );

/** Reads all points, with `digests` noting each; the fault, or null. */
async function read(bytes, digests) {
  try {
    const cloud = await openCloud(new Bytes(bytes));
    for (const span of await cloud.spans(1e9)) {
      await cloud.decode(span, columns, (b) => {
        if (!digests) return;
        for (let i = 0; i < b.count; i++) {
          let h = 17;
          for (const f of FIELDS) if (b[f].length > 0) h = (Math.imul(h, 31) + fold(b[f][i])) | 0;
          digests[b.first + i] = h;
        }
      });
    }
    return null;
  } catch (error) {
    if (!(error instanceof Fault)) throw error;
    return error.facts;
  }
}
const pair = new Float64Array(1);
const halves = new Int32Array(pair.buffer);
function fold(value) {
  pair[0] = value;
  return halves[0] ^ Math.imul(halves[1], 0x9e3779b1);
}

function guardOf(facts) {
  if (facts.code !== 'laz-chunk-damaged') return 'table';
  return /far outside|GPS times|return number/.test(facts.what) ? 'first' : 'stream';
}

const scene = street(chunkSize * 2 + Math.floor(chunkSize / 2));
const rows = [];
for (const kind of ['0', '1', '2', '3', '4', '5', '6', '7', '8', '9', '10', 'COPC 7']) {
  const copc = kind.startsWith('COPC');
  const format = Number(kind.split(' ').at(-1));
  const minor = format <= 1 ? 2 : format <= 3 ? 2 : format <= 5 ? 3 : 4;
  const las = writeLas({
    version: [1, minor],
    format,
    scale: [0.001, 0.001, 0.001],
    offset: [561_000, 5_932_000, 0],
    crs: { as: format >= 6 ? 'wkt' : 'geotiff', horizontal: UTM32, vertical: DVR90 },
    points: { ...scene, waveform: new Uint8Array(29 * scene.count) },
  });
  const sound = copc ? encodeCopc(las, { nodePoints: chunkSize }) : encodeLaz(las, { chunkSize });
  const view = new DataView(sound.buffer, sound.byteOffset);
  const begin = view.getUint32(96, true);
  const table = Number(view.getBigInt64(begin, true));
  const end = minor >= 4 && view.getUint32(243, true) > 0 ? Number(view.getBigUint64(235, true)) : sound.length;
  const random = new Random(seed * 100 + format);
  const reference = new Int32Array(scene.count);
  const digests = new Int32Array(scene.count);
  const fault = await read(sound, reference);
  if (fault) throw new Error(`the sound file of format ${kind} is refused: ${fault.what}`);
  const row = {
    kind,
    flips,
    none: 0,
    stream: 0,
    table: 0,
    first: 0,
    missed: 0,
    worst: 0,
    points: scene.count,
    bytes: end - begin,
  };
  for (let k = 0; k < flips; k++) {
    const bytes = sound.slice();
    bytes[begin + random.below(end - begin)] ^= 1 << random.below(8);
    const facts = await read(bytes, null);
    if (facts) {
      row[guardOf(facts)]++;
      continue;
    }
    await read(bytes, digests);
    let wrong = 0;
    for (let i = 0; i < digests.length; i++) if (digests[i] !== reference[i]) wrong++;
    if (wrong === 0) row.none++;
    else row.missed++;
    row.worst = Math.max(row.worst, wrong);
  }
  rows.push(row);
  process.stderr.write(`${JSON.stringify({ ...row, table_at: table })}\n`);
}

const percent = (n, of) => `${((100 * n) / of).toFixed(1)} %`;
console.log(
  `Chunks of ${chunkSize} points, ${scene.count} points a file, ${flips} flips a format, seed ${seed}, columns ${option('columns', 'all')}.\n`,
);
console.log(
  '| format | no effect | seen by stream ends | by table and sizes | by first points | not seen | seen of those with an effect | most points wrong unseen |',
);
console.log('| --- | --- | --- | --- | --- | --- | --- | --- |');
for (const r of rows) {
  const seen = r.stream + r.table + r.first;
  console.log(
    `| ${r.kind} | ${r.none} | ${r.stream} | ${r.table} | ${r.first} | ${r.missed} | ${percent(seen, seen + r.missed)} | ${r.worst} |`,
  );
}
console.log(`\ndigest of this result: ${createHash('sha256').update(JSON.stringify(rows)).digest('hex').slice(0, 16)}`);
