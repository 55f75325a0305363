import type { Column } from '../cloud/columns.js';
import type { DeliveredFile, PassRule } from '../delivery/delivery.js';
import { Fault, type FaultFacts } from '../fault.js';
import type { FactRequest } from '../measure/contract/measurement.js';
import { measurementById } from '../measure/index.js';
import { BlockStore } from './block-store.js';
import { runCached } from './cached-run.js';
import { damagedChunks, faultOfDamage, isOnlyDamaged, type Run, runWithoutDamage } from './damaged-chunks.js';
import { assignedMeasurements, Facts, measurementsBehind } from './facts.js';
import { type PassAssignment, passColumns, type SpanResult, type SpanTask } from './job.js';
import { MeasureCache } from './measure-cache.js';
import { runSpanTasks } from './scheduler.js';
import { SpanFaults } from './span-faults.js';
import { namedFault, type WorkPlan } from './work-plan.js';
import { IN_PROCESS, type WorkerPool } from './worker-pool.js';

export interface Progress {
  pointsDone: number;
  pointsTotal: number;
}

export interface MeasureOptions {
  workers: WorkerPool;
  onProgress?: (progress: Progress) => void;
  signal?: AbortSignal;
  /** Folder in which measured files are kept between runs. */
  cache?: string | null;
}

export interface MeasuredDelivery {
  facts: Facts;
  /** Seconds at which passes begin, when gaps in GPS time tell them apart; else null. */
  starts: Float64Array | null;
  /** By `spanKey`: where the points of each span lie, in quanta: min east, north, up, max east, north, up. */
  boxes: ReadonlyMap<string, Float64Array>;
}

/** Name of a span among all spans of a plan. */
export function spanKey({ file, span }: SpanTask): string {
  return `${file} ${span.first}`;
}

/** Always measured, whatever is requested: points read for each file and pass. */
export const POINT_COUNTS: FactRequest = { measurement: 'point-counts', params: null };

/**
 * Reads every point of the plan and measures what is requested. Where passes are separated by gaps in GPS time, the times
 * of all points must be known first: the delivery is then read twice. A file that cannot be read to the end gets its fault
 * noted in the plan.
 * @throws Fault `interrupted` when the signal aborts, `cache-folder`
 */
export async function measureDelivery(
  plan: WorkPlan,
  requests: readonly FactRequest[],
  rule: PassRule,
  options: MeasureOptions,
): Promise<MeasuredDelivery> {
  const rounds = rule.by === 'gps-time-gap' ? 2 : 1;
  const progress = countProgress(plan, rounds, options.onProgress);
  const wanted = [POINT_COUNTS, ...requests];
  for (;;) {
    const starts = rule.by === 'gps-time-gap' ? await passStarts(plan, rule.gap, options, progress) : null;
    const known = damagedChunks(plan.files);
    const passes = passAssignment(rule, starts);
    const once = await measureOnce(plan, wanted, passes, options, progress);
    const again = once.facts.secondReadingRequests(wanted);
    if (again.length > 0)
      once.facts.addSecondReading((await measureOnce(plan, again, passes, options, () => {})).facts);
    // More columns show more damage: then times of damaged chunks may have told passes apart.
    if (starts === null || damagedChunks(plan.files) === known) return { ...once, starts };
  }
}

/** GPS times at which passes begin, ascending; one at least. */
async function passStarts(
  plan: WorkPlan,
  gap: number,
  options: MeasureOptions,
  progress: (result: SpanResult) => void,
): Promise<Float64Array> {
  const request: FactRequest = { measurement: 'time-segments', params: { gap } };
  const { facts } = await measureOnce(plan, [request], { by: 'file' }, options, progress);
  const starts = facts.get(request) as Float64Array;
  return starts.length === 0 ? Float64Array.of(0) : starts;
}

/** Fewer points than this are not worth handing out. */
const FEW_POINTS = 3_000_000;

/** Reads some spans once more for something that was not known to be needed before. Faults were found the first time. */
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

/** Reads all points once more for something else. Faults were found the first time. */
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

function passAssignment(rule: PassRule, starts: Float64Array | null): PassAssignment {
  return rule.by === 'gps-time-gap' ? { by: rule.by, starts: starts! } : { by: rule.by };
}

/**
 * Reads all points once. Should points turn up where no header said there were any, after their area was boiled down, all
 * is read again, `patient`: nothing is boiled down before the end.
 */
async function measureOnce(
  plan: WorkPlan,
  requests: readonly FactRequest[],
  passes: PassAssignment,
  options: MeasureOptions,
  progress: (result: SpanResult) => void,
  patient = false,
): Promise<Pick<MeasuredDelivery, 'facts' | 'boxes'>> {
  const roots = measurementsBehind(requests);
  const columns = new Set<Column>(['xyz', 'flags', ...passColumns(passes)]);
  for (const { measurement, params } of roots) {
    for (const column of measurementById(measurement).columns(params)) columns.add(column);
  }
  const assignment = {
    measurements: assignedMeasurements(roots, requests),
    cutBlocks: !options.cache,
    columns: [...columns].sort(),
    files: plan.units,
    passes,
  };
  const begin = (): ReadingPass =>
    new ReadingPass(roots, new BlockStore(assignment.measurements, plan.tasks, plan.files, { patient }), progress);
  const { facts, boxes, faults, areas } = await runWithoutDamage(
    plan.files,
    plan.tasks,
    assignment,
    begin,
    runner(plan.tasks, roots, options),
  );
  if (areas.hasLateBlock && !patient) return measureOnce(plan, requests, passes, options, () => {}, true);
  for (const file of plan.files) noteFault(file, faults.firstFaultOf(file.index));
  return { facts, boxes };
}

/** What one reading of all points gives. */
class ReadingPass {
  readonly facts: Facts;
  readonly boxes = new Map<string, Float64Array>();
  readonly faults = new SpanFaults();
  readonly areas: BlockStore;
  readonly #progress: (result: SpanResult) => void;

  constructor(roots: readonly FactRequest[], areas: BlockStore, progress: (result: SpanResult) => void) {
    this.facts = new Facts(roots, areas);
    this.areas = areas;
    this.#progress = progress;
  }

  addResult(result: SpanResult): void {
    this.#progress(result);
    this.facts.addResult(result);
    this.faults.add(result);
    result.tasks.forEach((task, i) => {
      this.boxes.set(spanKey(task), result.boxes.subarray(i * 6, i * 6 + 6));
    });
  }
}

/** A span that could not be read at all says more than damaged chunks do; what is known of an earlier reading stays. */
function noteFault(file: DeliveredFile, unread: FaultFacts | null): void {
  if (file.fault !== null && !isOnlyDamaged(file)) return;
  const found = unread ? namedFault(unread, file.name) : file.damage.length > 0 ? faultOfDamage(file).facts : null;
  if (found === null) return;
  file.fault = Fault.sentence(found);
  file.faultFacts = found;
}

function runner(
  tasks: readonly SpanTask[],
  roots: readonly FactRequest[],
  { workers: pool, cache, signal }: MeasureOptions,
): Run<ReadingPass> {
  return async (assignment, { areas }, sink, isSound) => {
    if (!cache) return runSpanTasks(tasks, assignment, pool, sink, signal, { areas });
    const kept = await MeasureCache.open(cache, assignment);
    return runCached(tasks, assignment, roots, pool, kept, sink, isSound, { signal, areas });
  };
}

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
    // What is read once more without damaged chunks was not foreseen.
    pointsTotal = Math.max(pointsTotal, pointsDone);
    report?.({ pointsDone, pointsTotal });
  };
}
