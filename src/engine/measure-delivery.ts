import type { Column } from '../cloud/columns.js';
import type { DeliveredFile, PassRule } from '../delivery/delivery.js';
import { refuseTooManyPasses } from '../delivery/passes.js';
import { Fault, type FaultFacts } from '../fault.js';
import type { FactRequest } from '../measure/contract/measurement.js';
import { fact } from '../measure/fact-types.js';
import { measurementById } from '../measure/index.js';
import { BlockStore } from './block-store.js';
import { runCached } from './cached-run.js';
import { noteChangedFiles } from './changed-files.js';
import { damagedChunks, faultOfDamage, isOnlyDamaged } from './damaged-chunks.js';
import { assignedMeasurements, type Facts, measurementsBehind } from './facts.js';
import { type Assignment, type PassAssignment, passColumns, type SpanResult, type SpanTask } from './job.js';
import { MeasureCache } from './measure-cache.js';
import { Reading, readWithoutDamage } from './reading.js';
import { runSpanTasks } from './scheduler.js';
import { namedFault, type WorkPlan } from './work-plan.js';
import { IN_PROCESS, type WorkerPool } from './worker-pool.js';

/** Points read so far, and points to read. */
export interface Progress {
  pointsDone: number;
  pointsTotal: number;
}

/** How to measure. */
export interface MeasureOptions {
  workers: WorkerPool;
  onProgress?: (progress: Progress) => void;
  signal?: AbortSignal;
  /** Folder in which the states of measured files are kept between runs. */
  cache?: string | null;
}

/** What is known after the points were read. */
export interface MeasuredDelivery {
  facts: Facts;
  /** GPS times, seconds, at which drives begin, where passes are separated by gaps in GPS time; else null. */
  starts: Float64Array | null;
  /** By `spanKey`: extent of the points of each span, quanta: min east, north, up, max east, north, up. */
  boxes: ReadonlyMap<string, Float64Array>;
}

/** Always measured, whatever is requested: points read for each file and pass. */
export const POINT_COUNTS = fact('point-counts', null);

/**
 * Reads every point of the plan and measures what is requested. Where passes are separated by gaps in GPS time, the times
 * of all points must be known first: the delivery is then read twice. A file that cannot be read to the end gets its fault
 * noted in the plan.
 * @throws the reason of the signal when it aborts; Fault `cache-folder`, `too-many-passes`
 */
export async function measureDelivery(
  plan: WorkPlan,
  requests: readonly FactRequest[],
  rule: PassRule,
  options: MeasureOptions,
): Promise<MeasuredDelivery> {
  const rounds = rule.gap === undefined ? 1 : 2;
  const progress = countProgress(plan, rounds, options.onProgress);
  const wanted = [POINT_COUNTS, ...requests];
  for (;;) {
    const starts = rule.gap === undefined ? null : await driveStarts(plan, rule.gap, options, progress);
    const known = damagedChunks(plan.files);
    refuseTooManyPasses(rule, plan.files.length, starts?.length ?? 1);
    const passes = passAssignment(rule, starts);
    const once = await measureOnce(plan, wanted, passes, options, progress);
    const again = once.facts.secondReadingRequests(wanted);
    if (again.length > 0)
      once.facts.addSecondReading((await measureOnce(plan, again, passes, options, () => {})).facts);
    // The second reading decodes more columns and may find more damage: the passes are then computed again without it.
    if (starts !== null && damagedChunks(plan.files) !== known) continue;
    await noteChangedFiles(plan);
    return { ...once, starts };
  }
}

/** GPS times at which drives begin, ascending; one at least. */
async function driveStarts(
  plan: WorkPlan,
  gap: number,
  options: MeasureOptions,
  progress: (result: SpanResult) => void,
): Promise<Float64Array> {
  const request = fact('time-segments', { gap });
  const { facts } = await measureOnce(plan, [request], { by: ['file'] }, options, progress);
  const starts = facts.get(request);
  return starts.length === 0 ? Float64Array.of(0) : starts;
}

/** Fewer points than this are measured in the main thread. */
const FEW_POINTS = 3_000_000;

/**
 * Reads some spans again, for facts that are known to be needed only after the first reading. Faults are not noted again.
 */
export async function measureSpansAgain(
  plan: WorkPlan,
  tasks: SpanTask[],
  requests: readonly FactRequest[],
  rule: PassRule,
  { starts }: MeasuredDelivery,
  options: MeasureOptions,
): Promise<Facts> {
  const points = tasks.reduce((sum, task) => sum + task.span.points, 0);
  const pool = points < FEW_POINTS ? IN_PROCESS : options.workers;
  return measureSecondReading(
    { ...plan, tasks },
    requests,
    rule,
    { starts },
    { ...options, workers: pool, cache: null },
  );
}

/** Reads all points again, for facts that are known to be needed only after the first reading. Faults are not noted again. */
export async function measureSecondReading(
  plan: WorkPlan,
  requests: readonly FactRequest[],
  rule: PassRule,
  { starts }: Pick<MeasuredDelivery, 'starts'>,
  options: MeasureOptions,
): Promise<Facts> {
  const again: WorkPlan = { ...plan, files: plan.files.map((file) => ({ ...file })) };
  const { facts } = await measureOnce(again, requests, passAssignment(rule, starts), options, () => {});
  return facts;
}

function passAssignment({ by, sections }: PassRule, starts: Float64Array | null): PassAssignment {
  return { by, ...(starts === null ? {} : { starts }), ...(sections === undefined ? {} : { sections }) };
}

/**
 * Reads all points once. Where a point lies in a block that was already finalised, because a header states a wrong extent,
 * all points are read again, and blocks are then finalised after the last point.
 */
async function measureOnce(
  plan: WorkPlan,
  requests: readonly FactRequest[],
  passes: PassAssignment,
  options: MeasureOptions,
  progress: (result: SpanResult) => void,
  finaliseAtEnd = false,
): Promise<Pick<MeasuredDelivery, 'facts' | 'boxes'>> {
  const { files, tasks } = plan;
  const roots = measurementsBehind(requests);
  const columns = new Set<Column>(['xyz', 'flags', ...passColumns(passes)]);
  for (const { measurement, params } of roots) {
    for (const column of measurementById(measurement).columns(params)) columns.add(column);
  }
  const measurements = assignedMeasurements(roots, requests);
  const reading = await readWithoutDamage(files, async (skippedChunks) => {
    const blocks = new BlockStore(measurements, tasks, files, { finaliseAtEnd });
    const begun = new Reading(files, tasks, roots, blocks, skippedChunks);
    const assignment: Assignment = {
      measurements,
      cutBlocks: !options.cache,
      columns: [...columns].sort(),
      files: plan.units,
      passes,
      skippedChunks,
    };
    await readSpans(tasks, assignment, roots, begun, options, progress);
    return begun;
  });
  if (reading.blocks?.hasLateBlock && !finaliseAtEnd)
    return measureOnce(plan, requests, passes, options, () => {}, true);
  for (const file of files) noteFault(file, reading.faults.firstFaultOf(file.index));
  return { facts: reading.facts, boxes: reading.boxes };
}

/** Reads the spans into a reading; whole files are taken from the cache where it has them. */
async function readSpans(
  tasks: readonly SpanTask[],
  assignment: Assignment,
  roots: readonly FactRequest[],
  reading: Reading,
  { workers: pool, cache, signal }: MeasureOptions,
  progress: (result: SpanResult) => void,
): Promise<void> {
  const blocks = reading.blocks ?? undefined;
  const onResult = (result: SpanResult) => {
    progress(result);
    reading.addResult(result);
  };
  if (!cache) return runSpanTasks(tasks, assignment, pool, onResult, signal, { blocks });
  const kept = await MeasureCache.open(cache, assignment);
  const isSound = (file: number) => reading.isSound(file);
  return runCached(tasks, assignment, roots, pool, kept, onResult, isSound, { signal, blocks });
}

/**
 * Measures what does not depend on where the points are. Coordinates are not checked, so that a file whose coordinates
 * cannot be used is read as well. Damaged chunks are noted in the files of the plan; other faults are in the result.
 * @param columns columns to decode
 */
export async function measureContents(
  plan: WorkPlan,
  requests: readonly FactRequest[],
  columns: Iterable<Column>,
  pool: WorkerPool,
): Promise<Reading> {
  const { files, tasks } = plan;
  const read = await readWithoutDamage(files, async (skippedChunks) => {
    const reading = new Reading(files, tasks, requests, null, skippedChunks);
    const assignment: Assignment = {
      measurements: requests.map(({ measurement, params }) => ({ id: measurement, params })),
      columns: [...new Set(columns)],
      files: plan.units.map((file) => ({ ...file, coordinatesUnusable: true })),
      passes: { by: ['point-source-id'] },
      skippedChunks,
    };
    await runSpanTasks(tasks, assignment, pool, (result) => reading.addResult(result));
    return reading;
  });
  await noteChangedFiles(plan);
  return read;
}

/** Notes the fault of a file. A span that could not be read goes before damaged chunks; an earlier fault is kept. */
function noteFault(file: DeliveredFile, unread: FaultFacts | null): void {
  if (file.fault !== null && !isOnlyDamaged(file)) return;
  const found = unread ? namedFault(unread, file.name) : file.damage.length > 0 ? faultOfDamage(file).facts : null;
  if (found === null) return;
  file.fault = Fault.sentence(found);
  file.faultFacts = found;
}

/** Adds up the points of finished spans. @param rounds how often every point is read */
function countProgress(
  plan: WorkPlan,
  rounds: number,
  report?: (progress: Progress) => void,
): (result: SpanResult) => void {
  let pointsTotal = rounds * plan.tasks.reduce((sum, task) => sum + task.span.points, 0);
  let pointsDone = 0;
  report?.({ pointsDone, pointsTotal });
  return ({ tasks }) => {
    for (const task of tasks) pointsDone += task.span.points;
    // A repeated reading, without damaged chunks, was not planned.
    pointsTotal = Math.max(pointsTotal, pointsDone);
    report?.({ pointsDone, pointsTotal });
  };
}
