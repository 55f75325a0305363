import { stat } from 'node:fs/promises';
import { buildReport, internalErrors } from '../assemble/build-report.js';
import { commandOf, inputsOf } from '../assemble/inputs.js';
import { overviewRequests } from '../assemble/overview.js';
import { passLabels } from '../assemble/pass-labels.js';
import { routeNotes, surveyNotes } from '../assemble/survey-notes.js';
import { trajectoryNotes } from '../assemble/trajectory-notes.js';
import { pointsInCloudSystem } from '../crs/points-in-cloud-crs.js';
import { agreedSystem, codeOrName, unitFile } from '../delivery/agreed-system.js';
import type { DeclaredCrs, DeliveredFile, DeliveryFacts, PassRule } from '../delivery/delivery.js';
import { discoverClouds, type FoundCloud, isUrl } from '../delivery/discover.js';
import { driveSections } from '../delivery/drive-sections.js';
import { compareWithManifest } from '../delivery/manifest.js';
import { refusePassesWithoutTrajectory } from '../delivery/passes.js';
import type { StationNotation } from '../delivery/route.js';
import { readTileIndex } from '../delivery/tile-index.js';
import type { Trajectory } from '../delivery/trajectory.js';
import { readZones } from '../delivery/zones.js';
import { noteChangedFiles } from '../engine/changed-files.js';
import { measureDelivery, type Progress } from '../engine/measure-delivery.js';
import { makeWorkPlan, type WorkPlan } from '../engine/work-plan.js';
import { defaultWorkers, type WorkerPool, withWorkerPool } from '../engine/worker-pool.js';
import type { FaultFacts } from '../fault.js';
import { requestList } from '../measure/fact-types.js';
import type { Report } from '../report/model.js';
import { readRoute } from '../route/read-route.js';
import type { SpecPasses } from '../spec/acceptance-spec.js';
import { loadSpec } from '../spec/load.js';
import { availablePlannedChecks, fragments } from './check-fragments.js';
import { cutCrossSections } from './cross-sections.js';
import { factsAsked, judgeWithCauses, requestsOf, withChangedFiles } from './judge.js';
import { refuseUnguardable, refuseUnknownZones, refuseZonesOfFiles } from './refuse-requirements.js';
import { refuseOptionsWithoutRoute, refuseSharedInput, refuseUnusedSideFiles } from './refuse-unused-side-files.js';
import { milliseconds } from './timeout.js';
import { trajectoryOf } from './trajectory-of.js';

export type { Progress } from '../engine/measure-delivery.js';

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
  /** Planned route: LandXML 1.2, GeoJSON lines or a table of stations (CSV). Places in the report then have station and offset. */
  route?: string | null;
  /** How stations are written; where left out 3+250, and 41+57.95 for a cloud in feet. */
  stationNotation?: StationNotation | null;
  /** Length of the sections of the route that every requirement is reported by, metres; 100 where left out. */
  sections?: number | null;
  /** Trajectory of the vehicle: files with one drive or several each. */
  trajectory?: readonly string[] | null;
  /** System of its positions where it is not the cloud's, as pointsCrs. */
  trajectoryCrs?: string | null;
  /** What its times count, such as "gps-week-seconds, week 2347"; worked out where it is not given. */
  trajectoryTime?: string | null;
  workers?: number;
  /** Points in a span; only tests need another value than the default. */
  spanPoints?: number;
  /** Seconds without a byte after which a server is given up. */
  timeout?: number;
  /** Shows the queries of addresses in the report; they may hold keys. */
  showQueries?: boolean;
  /** Share of the points for a quick look, between 0 and 1: then nothing is accepted. */
  sample?: number | null;
  /** Folder in which measured files are kept, so that a re-delivery reads only what changed. */
  cache?: string | null;
  onProgress?: (progress: Progress) => void;
  /** Called while a trajectory is read: bytes read of the file so far, and of the whole file. */
  onSideFile?: (progress: { file: string; done: number; total: number }) => void;
  /** Called for every internal error of cloudassay, with its stack; the report names them without it. */
  onInternalError?: (facts: FaultFacts) => void;
  signal?: AbortSignal;
}

/** Metres in a unit the spec can name. */
const SPEC_UNITS: Record<string, number> = { metre: 1, foot: 0.3048, 'us-survey-foot': 1200 / 3937 };

/**
 * The main job: reads a delivery, measures it, judges it against its acceptance spec, and returns the report. The report is
 * the same, bit for bit, for any number of workers and any order of the files.
 * @throws Fault for a spec, points or zones file that cannot be used, and for a delivery without a cloud
 */
export async function checkDelivery(options: CheckOptions): Promise<Report> {
  return withWorkerPool(options.workers ?? defaultWorkers(), (pool) => checkWith(pool, options));
}

async function checkWith(pool: WorkerPool, options: CheckOptions): Promise<Report> {
  refuseSharedInput(options);
  refuseOptionsWithoutRoute(options);
  // The threads for a large delivery start while the spec is read. A fault of the spec is thrown before one of the clouds.
  const found = discoverClouds(options.delivery, options.showQueries);
  await found.then((clouds) => warmForLarge(pool, clouds)).catch(() => {});
  const spec = await loadSpec(options.spec, fragments(), availablePlannedChecks());
  refuseUnguardable(spec);
  refuseZonesOfFiles(spec);
  refuseUnusedSideFiles(spec, options);
  const clouds = await found;
  const declaredUnit = spec.crs.unit === null ? null : SPEC_UNITS[spec.crs.unit];
  const plan = await makeWorkPlan(
    clouds,
    declaredUnit,
    options.spanPoints,
    options.sample ?? null,
    milliseconds(options.timeout),
  );
  const metresPerUnit = unitFile(plan.files, spec.crs)?.horizontalUnit ?? declaredUnit ?? 1;
  const system = planSystem(plan.files, spec.crs);
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
  const driven = await trajectoryOf(options, plan, { declared: spec.crs, metresPerUnit });
  refusePassesWithoutTrajectory(spec.passes, driven.trajectory);
  const passRule = passRuleOf(spec.passes, driven.trajectory);
  const inputs = await inputsOf(options, driven.files);
  const delivery: DeliveryFacts = {
    files: plan.files,
    passes: [],
    passRule,
    surveyPoints,
    zones,
    tileIndex: options.tiles ? await readTileIndex(options.tiles, { metresPerUnit, system }) : null,
    declaredCrs: spec.crs,
    sample: options.sample ? shareRead(plan) : null,
    transfer: options.manifest ? await compareWithManifest(options.manifest, clouds) : null,
    trajectory: driven.trajectory,
    route: options.route
      ? await readRoute(options.route, {
          metresPerUnit,
          system,
          notation: options.stationNotation ?? null,
          files: plan.files,
        })
      : null,
  };
  const how = {
    workers: pool,
    onProgress: options.onProgress,
    signal: options.signal,
    cache: options.sample ? null : (options.cache ?? null),
  };
  const requests = new Map(spec.requirements.map((requirement) => [requirement, requestsOf(requirement, delivery)]));
  const wanted = [...requestList(overviewRequests(plan.files)), ...factsAsked(requests.values())];
  const measured = await measureDelivery(plan, wanted, passRule, how);
  // The threads end here, because judging needs the memory. A further reading, which is seldom needed, starts them again.
  await pool.close();
  const facts: DeliveryFacts = { ...delivery, passes: passLabels(measured, plan.files, passRule) };
  const verdicts = await judgeWithCauses(plan, requests, measured, facts, how);
  const illustrated = await cutCrossSections(plan, facts, measured, verdicts, how);
  // A file may have changed since the first reading ended: then the further readings above rest on other points.
  const judged = (await noteChangedFiles(plan)) ? withChangedFiles(illustrated, requests, facts) : illustrated;
  for (const error of internalErrors(judged, facts, measured)) options.onInternalError?.(error);
  return buildReport({
    spec,
    delivery: facts,
    measured,
    judged,
    inputs,
    command: commandOf(options),
    notes: [
      ...surveyNotes(points?.convertedFrom ?? null),
      ...trajectoryNotes(driven.trajectory),
      ...routeNotes(facts.route),
    ],
    sectionMetres: options.sections ?? null,
  });
}

/** Share of the points of all readable files that the plan reads: a sample takes whole chunks, and at least one of each file. */
function shareRead({ files, tasks }: WorkPlan): number {
  const read = tasks.reduce((sum, { span }) => sum + span.points, 0);
  const all = files.reduce((sum, { header }) => sum + (header?.pointCount ?? 0), 0);
  return all === 0 ? 1 : read / all;
}

/** A delivery of so many bytes keeps all threads busy. */
const LARGE_BYTES = 64 << 20;

async function warmForLarge(pool: WorkerPool, clouds: readonly FoundCloud[]): Promise<void> {
  let bytes = 0;
  for (const { address } of clouds) {
    if (bytes < LARGE_BYTES && !isUrl(address)) bytes += (await stat(address)).size;
  }
  if (bytes >= LARGE_BYTES) pool.startAll();
}

/** EPSG code of the horizontal system of the delivery; what the spec declares where no file states a code. */
function planSystem(files: readonly DeliveredFile[], declared: DeclaredCrs): string | null {
  const stated = agreedSystem(files, declared).file?.crs?.horizontal;
  return stated?.epsg ? codeOrName(stated) : declared.horizontal;
}

/** The pass rule of the spec, with the sections of the drives where it needs them. */
function passRuleOf(rule: SpecPasses, trajectory: Trajectory | null): PassRule {
  return rule.by.includes('trajectory') && trajectory !== null
    ? { ...rule, sections: driveSections(trajectory) }
    : rule;
}
