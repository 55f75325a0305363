import { stat } from 'node:fs/promises';
import { buildReport } from '../assemble/build-report.js';
import { commandOf, inputsOf } from '../assemble/inputs.js';
import { passLabels } from '../assemble/pass-labels.js';
import { pointsInCloudSystem } from '../crs/points-in-cloud-crs.js';
import type { DeliveredFile, DeliveryFacts } from '../delivery/delivery.js';
import { discoverClouds, type FoundCloud, isUrl } from '../delivery/discover.js';
import { compareWithManifest } from '../delivery/manifest.js';
import { readTileIndex } from '../delivery/tile-index.js';
import { readZones, type Zone } from '../delivery/zones.js';
import { measureDelivery, type Progress } from '../engine/measure-delivery.js';
import { makeWorkPlan } from '../engine/work-plan.js';
import { defaultWorkers, type WorkerPool, withWorkerPool } from '../engine/worker-pool.js';
import { Fault } from '../fault.js';
import type { Report } from '../report/model.js';
import type { AcceptanceSpec } from '../spec/acceptance-spec.js';
import { loadSpec } from '../spec/load.js';
import { availablePlannedChecks, fragments } from './check-fragments.js';
import { cutCrossSections } from './cross-sections.js';
import { judgeWithCauses } from './judge.js';
import { refuseUnusedSideFiles } from './refuse-unused-side-files.js';

/** What to check, and against what. Paths and URLs; lengths in side files are in the unit of the cloud. */
export interface CheckOptions {
  delivery: readonly string[];
  spec: string;
  points?: string | null;
  /** System of the points where it is not the cloud's: EPSG code, WKT, PROJ string, or a file that holds one of them. */
  pointsCrs?: string | null;
  zones?: string | null;
  /** Tile index: the polygon of every tile that was agreed, GeoJSON. */
  tiles?: string | null;
  /** SHA-256 manifest made before the transfer. */
  manifest?: string | null;
  workers?: number;
  /** Points a span; only tests need another value than the default. */
  spanPoints?: number;
  /** Share of the points for a quick look, between 0 and 1: then nothing is accepted. */
  sample?: number | null;
  /** Folder in which measured files are kept, so that a re-delivery reads only what changed. */
  cache?: string | null;
  onProgress?: (progress: Progress) => void;
  signal?: AbortSignal;
}

/** Metres in a unit the spec can name. */
const SPEC_UNITS: Record<string, number> = { metre: 1, foot: 0.3048, 'us-survey-foot': 1200 / 3937 };

/**
 * The main job: reads a delivery, measures it, judges it against its acceptance spec, and gives the report. The report is
 * the same, bit for bit, for any number of workers and any order of the files.
 * @throws Fault for a spec, points or zones file that cannot be used, and for a delivery without a cloud
 */
export async function checkDelivery(options: CheckOptions): Promise<Report> {
  return withWorkerPool(options.workers ?? defaultWorkers(), (pool) => checkWith(pool, options));
}

async function checkWith(pool: WorkerPool, options: CheckOptions): Promise<Report> {
  // A large delivery needs its threads soon: they load while the spec is read. What is wrong with the spec is told first.
  const found = discoverClouds(options.delivery);
  await found.then((clouds) => warmForLarge(pool, clouds)).catch(() => {});
  const spec = await loadSpec(options.spec, fragments(), availablePlannedChecks());
  refuseUnguardable(spec);
  refuseZonesOfFiles(spec);
  refuseUnusedSideFiles(spec, options);
  const clouds = await found;
  const declaredUnit = spec.crs.unit === null ? null : SPEC_UNITS[spec.crs.unit];
  const plan = await makeWorkPlan(clouds, declaredUnit, options.spanPoints, options.sample ?? null);
  const first = plan.files.find((file) => file.header !== null);
  const metresPerUnit = first?.planUnit ?? declaredUnit ?? 1;
  const system = planSystem(plan.files, spec.crs.horizontal);
  const points = options.points
    ? await pointsInCloudSystem(options.points, options.pointsCrs ?? null, {
        files: plan.files,
        declared: spec.crs,
        metresPerUnit,
      })
    : null;
  const surveyPoints = points?.points ?? null;
  const zones = options.zones ? await readZones(options.zones, { metresPerUnit, system }) : [];
  refuseUnknownZones(spec, zones, options.zones ?? null);
  const inputs = await inputsOf(options);
  const delivery: DeliveryFacts = {
    files: plan.files,
    passes: [],
    passRule: spec.passes,
    surveyPoints,
    zones,
    tileIndex: options.tiles ? await readTileIndex(options.tiles, { metresPerUnit, system }) : null,
    declaredCrs: spec.crs,
    sample: options.sample ?? null,
    transfer: options.manifest ? await compareWithManifest(options.manifest, clouds) : null,
  };
  const how = {
    workers: pool,
    onProgress: options.onProgress,
    signal: options.signal,
    cache: options.sample ? null : (options.cache ?? null),
  };
  const measured = await measureDelivery(plan, spec, delivery, how);
  // Judging needs memory of its own; what the threads hold goes first. A further reading, seldom needed, starts them again.
  await pool.close();
  const facts: DeliveryFacts = { ...delivery, passes: passLabels(measured, plan.files, spec.passes) };
  const verdicts = await judgeWithCauses(plan, spec, measured, facts, how);
  const judged = await cutCrossSections(plan, facts, measured, verdicts, how);
  return buildReport({
    spec,
    delivery: facts,
    measured,
    judged,
    inputs,
    command: commandOf(options),
    notes: points?.notes ?? [],
  });
}

/** Bytes from which a delivery is sure to keep all threads busy. */
const LARGE_BYTES = 64 << 20;

async function warmForLarge(pool: WorkerPool, clouds: readonly FoundCloud[]): Promise<void> {
  let bytes = 0;
  for (const { address } of clouds) {
    if (bytes < LARGE_BYTES && !isUrl(address)) bytes += (await stat(address)).size;
  }
  if (bytes >= LARGE_BYTES) pool.startAll();
}

/** EPSG code of the plan system of the cloud, as the first file that states one has it, or as the spec declares it. */
function planSystem(files: readonly DeliveredFile[], declared: string | null): string | null {
  const code = files.find((file) => file.crs?.horizontal?.epsg)?.crs?.horizontal?.epsg;
  return code ? `EPSG:${code}` : declared;
}

function refuseUnguardable(spec: AcceptanceSpec): void {
  const guardable = new Set(
    fragments()
      .filter((f) => f.canGuard)
      .map((f) => f.id),
  );
  const wrong = spec.requirements.filter((r) => r.decision === 'guarded' && !guardable.has(r.check));
  if (wrong.length === 0) return;
  throw new Fault({
    code: 'spec-invalid',
    where: spec.file,
    what: `a guarded decision is not possible for ${wrong.map((r) => `${r.id} (${r.check})`).join(', ')}`,
    advice: `Leave "decision" out there; it is possible for ${[...guardable].join(', ')}`,
  });
}

function refuseZonesOfFiles(spec: AcceptanceSpec): void {
  const whole = new Set(
    fragments()
      .filter((f) => f.wholeFiles)
      .map((f) => f.id),
  );
  const wrong = spec.requirements.filter((r) => r.zone !== undefined && whole.has(r.check));
  if (wrong.length === 0) return;
  throw new Fault({
    code: 'spec-invalid',
    where: spec.file,
    what: `${wrong.map((r) => `${r.id} (${r.check})`).join(', ')} judges whole files, so a zone has no meaning there`,
    advice: 'Leave "zone" out',
  });
}

function refuseUnknownZones(spec: AcceptanceSpec, zones: readonly Zone[], path: string | null): void {
  const known = zones.map((zone) => zone.name);
  for (const { id, zone } of spec.requirements) {
    if (zone === undefined || known.includes(zone)) continue;
    throw new Fault({
      code: 'zone-unknown',
      where: path ?? spec.file,
      what:
        path === null
          ? `requirement ${id} is about zone ${zone}, but no zones file was given`
          : `requirement ${id} is about zone ${zone}, which the zones file does not have (it has ${known.join(', ')})`,
      advice: path === null ? 'Give it with --zones' : 'Correct the name in the spec or in the zones file',
    });
  }
}
