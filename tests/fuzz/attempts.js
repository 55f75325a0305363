// Child of fuzz.js: makes mutations and tries them. Tells its parent each number before it starts, so that a crash, a hang
// or a memory hog can be blamed on it.
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, relative } from 'node:path';
import { checks } from '../../dist/src/checks/index.js';
import { ALL_COLUMNS } from '../../dist/src/cloud/columns.js';
import { heightUnit, horizontalWkt } from '../../dist/src/cloud/crs.js';
import { decodeExtraByte } from '../../dist/src/cloud/extra-bytes.js';
import { openCloud } from '../../dist/src/cloud/open.js';
import { parseManifest } from '../../dist/src/delivery/manifest.js';
import { parseSurveyPoints } from '../../dist/src/delivery/survey-points.js';
import { parseTileIndex } from '../../dist/src/delivery/tile-index.js';
import { parseZones } from '../../dist/src/delivery/zones.js';
import { createMeasuredBatch, scaleToWorld } from '../../dist/src/engine/scale-to-world.js';
import { Fault } from '../../dist/src/fault.js';
import { measurementById } from '../../dist/src/measure/index.js';
import { consoleSummary } from '../../dist/src/report/console.js';
import { REPORT_FORMATS } from '../../dist/src/report/formats.js';
import { STYLE } from '../../dist/src/report/html/style.js';
import { viewerScript } from '../../dist/src/report/html/viewer-script.js';
import { inspectionText } from '../../dist/src/report/inspection.js';
import { reportJson } from '../../dist/src/report/json.js';
import { writeReport } from '../../dist/src/report/write.js';
import { checkDelivery } from '../../dist/src/run/check-delivery.js';
import { availablePlannedChecks, fragments } from '../../dist/src/run/check-fragments.js';
import { testFormatRules } from '../../dist/src/run/format-rules.js';
import { inspect } from '../../dist/src/run/inspect.js';
import { explainSpec } from '../../dist/src/spec/explain.js';
import { parseSpec } from '../../dist/src/spec/load.js';
import { damagedDelivery, isDelivery } from './deliveries.js';
import { mutation, sideFiles } from './mutations.js';
import { ownContents, pageProblem, xmlProblem } from './page-check.js';

/** What must not happen, said in words; anything else that is thrown and is no Fault is as bad. */
class Breach extends Error {}

/** Bytes in memory. Whoever asks for bytes outside has not looked at the size first. */
class Watched {
  address = 'memory';
  name = 'tile.laz';
  identity = '';
  constructor(bytes) {
    this.bytes = bytes;
    this.size = bytes.length;
  }
  async read(begin, end) {
    if (!Number.isInteger(begin) || !Number.isInteger(end) || begin < 0 || begin > end || end > this.size)
      throw new Breach(`bytes ${begin} to ${end} asked of a file of ${this.size}`);
    return this.bytes.slice(begin, end);
  }
  async close() {}
}

const MEASURED = [
  ['point-counts', null],
  ['header-recount', null],
  ['class-returns', null],
  ['density-grid', { cell: 1, count: 'all' }],
  ['structure-facts', { fields: [] }],
];

async function tryCloud(bytes) {
  const source = new Watched(bytes);
  const cloud = await openCloud(source);
  horizontalWkt(cloud.crs);
  heightUnit(cloud.crs);
  const kinds = MEASURED.map(([id, params]) => [measurementById(id), params]);
  const states = kinds.map(([kind, params]) => kind.create(params));
  const units = { address: '', horizontalUnit: 1, heightUnit: 1 };
  let batch = null;
  let into = new Float64Array(0);
  for (const span of await cloud.spans(100_000)) {
    let points = 0;
    await cloud.decode(span, new Set(ALL_COLUMNS), (raw) => {
      points += raw.count;
      if (!batch || batch.east.length < raw.capacity) batch = createMeasuredBatch(raw, raw.capacity);
      scaleToWorld(batch, raw, cloud.header, 0, units, { by: ['point-source-id'] });
      for (let m = 0; m < kinds.length; m++) kinds[m][0].add(states[m], batch);
      if (into.length < raw.count) into = new Float64Array(raw.count);
      for (const extra of cloud.extraBytes) {
        for (let member = 0; member < extra.members; member++) decodeExtraByte(extra, raw, into, member);
      }
    });
    if (points !== span.points) throw new Breach(`${points} points decoded of ${span.points} without a word`);
  }
  for (let m = 0; m < kinds.length; m++) kinds[m][0].finish(states[m], kinds[m][1]);
}

const explainers = new Map(checks.map((check) => [check.id, (r) => check.explain(r)]));

function tryText({ kind, text }) {
  if (kind === 'spec') explainSpec(parseSpec(text, 'spec.json', fragments(), availablePlannedChecks()), explainers);
  else if (kind === 'csv') parseSurveyPoints(text, 'points.csv', { metresPerUnit: 1 });
  else if (kind === 'geopoints') parseSurveyPoints(text, 'points.geojson', { metresPerUnit: 1 });
  else if (kind === 'zones') {
    parseZones(text, 'zones.geojson', { metresPerUnit: 1 });
    parseTileIndex(text, 'tiles.geojson', { metresPerUnit: 1 });
  } else parseManifest(text, 'manifest.sha256');
}

const SPEC = {
  spec: '1',
  title: '<script>alert("title")</script> & co',
  requirements: [
    { id: '<b>RULES', check: 'las-structure' },
    { id: 'HDR', check: 'header-agreement' },
    { id: 'CRS', check: 'crs' },
    { id: 'DEN', check: 'density', min: 1, cell: 0.5 },
    { id: 'VOID', check: 'voids', maxArea: 1 },
    { id: 'ACC', check: 'vertical-accuracy', maxRmse: 0.1, minPoints: 1 },
    { id: 'REL', check: 'pass-agreement', maxRmsDz: 0.05 },
    { id: 'ATT', check: 'point-attributes' },
    { id: 'DUP', check: 'duplicates', sample: 2000 },
    { id: 'TILE', check: 'tiling', size: 500 },
    { id: 'EDGE', check: 'edge-match', maxStep: 0.1 },
    { id: 'LONE', check: 'isolated-points', maxShare: 0.1 },
    { id: 'EVEN', check: 'point-distribution', spacing: 0.5 },
    { id: 'SURF', check: 'surface-precision', maxRms: 0.05, method: 'cells' },
    { id: 'DRIFT', check: 'pass-drift', maxOffset: 0.05 },
    { id: 'CLASS', check: 'classification', maxHighGround: 0.1 },
  ],
};

/** What is asked of a zone: areas as an enemy draws them. */
function inZone(zone) {
  return [
    { id: 'Z1', check: 'coverage', minShare: 0.5, zone },
    { id: 'Z2', check: 'density', min: 1, zone },
    { id: 'Z3', check: 'voids', maxArea: 1, zone },
    { id: 'Z4', check: 'duplicates', zone },
    { id: 'Z5', check: 'point-attributes', area: zone },
    { id: 'Z6', check: 'tiling', index: true, zone },
  ];
}

/** The spec, asking of the first zone of a zones file as well; of none when the file is to be refused. */
function specFor(m) {
  if (m.kind === 'spec') return m.text;
  if (m.kind !== 'zones') return JSON.stringify(SPEC);
  try {
    const [first] = parseZones(m.text, 'zones.geojson', { metresPerUnit: 1 });
    return JSON.stringify({ ...SPEC, requirements: [...SPEC.requirements, ...inZone(first.name)] });
  } catch {
    return JSON.stringify(SPEC);
  }
}
/** Names as an enemy would choose them; a slash cannot be in one. */
const NAMES = [
  'tile.laz',
  '<img src=x onerror=alert(1)>.laz',
  '"><script>alert(1)<\u2215script>.laz',
  'a..\\..\\up.laz',
  'a b\u202egnp.laz',
  "'&quot;&#x27;.las",
  'zero\u0001.las',
];

const own = ownContents([STYLE, viewerScript()]);

async function tryDelivery(m, index) {
  const folder = mkdtempSync(join(tmpdir(), 'cloudassay-fuzz-'));
  try {
    const tiles = join(folder, 'tiles');
    mkdirSync(tiles);
    const { sound } = await import('./sound.js');
    const bytes = m.kind === 'cloud' ? m.bytes : sound;
    writeFileSync(join(tiles, NAMES[index % NAMES.length]), bytes);
    if (index % 2 === 0) writeFileSync(join(tiles, 'sound.laz'), sound);
    const write = (name, text) => {
      writeFileSync(join(folder, name), text);
      return join(folder, name);
    };
    const options = {
      delivery: [tiles],
      spec: write('spec.json', specFor(m)),
      points:
        m.kind === 'geopoints' ? write('p.geojson', m.text) : write('p.csv', m.kind === 'csv' ? m.text : sideFiles.csv),
      zones: m.kind === 'zones' ? write('z.geojson', m.text) : null,
      tiles: m.kind === 'zones' ? join(folder, 'z.geojson') : null,
      manifest: m.kind === 'manifest' ? write('m.sha256', m.text) : null,
      workers: 1,
    };
    const report = await checkDelivery(options);
    const words = JSON.stringify([report.files, report.findings, report.requirements.map((r) => r.summary)]);
    const odd = /internal error in cloudassay[^"]*|undefined|\[object/.exec(words);
    if (odd) throw new Breach(`the report says: ${odd[0]}`);
    const out = join(folder, 'out');
    for (const path of await writeReport(report, out, REPORT_FORMATS)) {
      const name = relative(out, path);
      if (/[/\\]|\.\./.test(name)) throw new Breach(`a report file called ${name}`);
      const text = readFileSync(path, 'utf8');
      if (name.endsWith('.html')) checkPage(text);
      if (name.endsWith('.xml')) refuse(xmlProblem(text), name);
      if (name.endsWith('.json')) JSON.parse(text);
    }
    consoleSummary(report, { columns: 80 });
    for await (const outcome of inspect([tiles], false)) {
      if (outcome.inspection) inspectionText(outcome.inspection);
      else if (/internal error in cloudassay/.test(outcome.fault)) throw new Breach(outcome.fault);
    }
    await testFormatRules([tiles], { wkt: 'usgs', headerOnly: false, workers: 1 });
    const left = readdirSync(folder).filter(
      (n) => !['tiles', 'out', 'spec.json', 'p.csv', 'p.geojson', 'z.geojson', 'm.sha256'].includes(n),
    );
    if (left.length > 0) throw new Breach(`written outside its folder: ${left.join(', ')}`);
    if (readdirSync(out).some((n) => n.endsWith('.part'))) throw new Breach('a half-written report');
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** Several damaged tiles and a random spec: two workers find what one finds, to the byte, and the report can be written. */
async function tryDamagedDelivery(m) {
  const folder = mkdtempSync(join(tmpdir(), 'cloudassay-fuzz-'));
  try {
    const tiles = join(folder, 'tiles');
    mkdirSync(tiles);
    for (const { name, bytes } of m.tiles) writeFileSync(join(tiles, name), bytes);
    const write = (name, text) => {
      writeFileSync(join(folder, name), text);
      return join(folder, name);
    };
    const options = {
      delivery: [tiles],
      spec: write('spec.json', m.spec),
      points: m.points ? write('p.csv', sideFiles.csv) : null,
      manifest: m.manifest ? write('m.sha256', sideFiles.manifest) : null,
    };
    const ending = async (more) => {
      try {
        return await checkDelivery({ ...options, ...more });
      } catch (error) {
        if (error instanceof Fault && error.facts.code !== 'unexpected') return error;
        throw error;
      }
    };
    const cache = m.cache ? join(folder, 'cache') : null;
    const report = await ending({ workers: 2, cache });
    const same = (other) => String(other instanceof Fault ? other.message : reportJson(other));
    const first = same(report);
    if (same(await ending({ workers: 1 })) !== first) throw new Breach('one worker finds something else than two');
    if (cache && same(await ending({ workers: 2, cache })) !== first)
      throw new Breach('measured files from the cache give another report');
    if (report instanceof Fault) throw report;
    const odd = /unexpected error[^"]*|undefined|\[object/.exec(first);
    if (odd) throw new Breach(`the report says: ${odd[0]}`);
    const out = join(folder, 'out');
    await writeReport(report, out, REPORT_FORMATS);
    if (readdirSync(out).some((n) => n.endsWith('.part'))) throw new Breach('a half-written report');
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function checkPage(text) {
  refuse(pageProblem(text, own), 'report.html');
}

function refuse(problem, where) {
  if (problem !== null) throw new Breach(`${where}: ${problem}`);
}

/** How the attempts of a batch ended: read to the end, or refused with which code. */
const endings = {};

async function attempt(seed, index) {
  const whole = isDelivery(index);
  const m = whole ? { kind: 'several tiles', ...damagedDelivery(seed, index) } : mutation(seed, index);
  const ended = (how) => {
    const key = `${m.full ? 'delivery of ' : ''}${m.kind}: ${how}`;
    endings[key] = (endings[key] ?? 0) + 1;
  };
  try {
    if (whole) await tryDamagedDelivery(m);
    else if (m.full) await tryDelivery(m, index);
    else if (m.kind === 'cloud') await tryCloud(m.bytes);
    else tryText(m);
    ended('read');
    return null;
  } catch (error) {
    if (error instanceof Fault && error.facts.code !== 'internal-error') {
      ended(error.facts.code);
      if (/\n\s+at /.test(error.message)) return { what: m.what, problem: `a trace in the message: ${error.message}` };
      return null;
    }
    return {
      what: m.what,
      problem: error instanceof Error ? (error.stack ?? error.message) : String(error),
      input: m.bytes ?? m.text,
    };
  }
}

process.on('message', async ({ seed, from, count, keep }) => {
  for (let index = from; index < from + count; index++) {
    process.send({ started: index });
    const failure = await attempt(seed, index);
    if (failure) {
      if (keep) {
        if (!existsSync(keep)) mkdirSync(keep, { recursive: true });
        if (failure.input) writeFileSync(join(keep, `${seed}-${index}`), failure.input);
      }
      process.send({ failed: index, what: failure.what, problem: failure.problem });
    }
  }
  process.send({ done: from + count, endings });
  for (const key of Object.keys(endings)) delete endings[key];
});
