import { checkById } from '../checks/index.js';
import type { Column } from '../cloud/columns.js';
import type { DeliveryFacts, PassRule } from '../delivery/delivery.js';
import { Fault, type FaultFacts } from '../fault.js';
import { measurementById } from '../measure/index.js';
import type { AcceptanceSpec, SpecRequirement } from '../spec/acceptance-spec.js';
import { MeasureCache } from './cache.js';
import { runCached } from './cached-run.js';
import { overviewAsks } from './overview.js';
import type { Plan } from './plan.js';
import { runTasks } from './pool.js';
import { type Ask, Facts, measurementsFor } from './reduce.js';
import { type Assignment, type PassAssignment, passColumns, type Task, type TaskResult } from './task.js';

export interface Progress {
  pointsDone: number;
  pointsTotal: number;
}

export interface MeasureOptions {
  workers: number;
  onProgress?: (progress: Progress) => void;
  signal?: AbortSignal;
  /** Folder in which measured files are kept between runs. */
  cache?: string | null;
}

export interface Measured {
  facts: Facts;
  /** Seconds at which passes begin, when gaps in GPS time tell them apart; else null. */
  starts: Float64Array | null;
  /** By `spanKey`: where the points of each span lie, in quanta: min east, north, up, max east, north, up. */
  boxes: ReadonlyMap<string, Float64Array>;
}

/** Name of a span among all spans of a plan. */
export function spanKey({ file, span }: Task): string {
  return `${file} ${span.first}`;
}

/** Always measured, whatever the spec asks: points read for each file and pass. */
export const TALLY: Ask = { measurement: 'tally', params: null };

/** What a requirement asks to be measured. */
export function asksOf(requirement: SpecRequirement, delivery: DeliveryFacts): Ask[] {
  return checkById(requirement.check)?.needs(requirement, { delivery }) ?? [];
}

/**
 * Reads every point once and measures all that the spec needs. Passes told by gaps in GPS time are known only after all
 * times are, so then the times are read first and the delivery twice. Files that turn out to be damaged get their fault
 * noted in the plan.
 */
export async function measureDelivery(
  plan: Plan,
  spec: AcceptanceSpec,
  delivery: DeliveryFacts,
  options: MeasureOptions,
): Promise<Measured> {
  const rounds = spec.passes.by === 'gps-time-gap' ? 2 : 1;
  const progress = countProgress(plan, rounds, options.onProgress);
  let starts: Float64Array | null = null;
  if (spec.passes.by === 'gps-time-gap') {
    const ask: Ask = { measurement: 'time-segments', params: { gap: spec.passes.gap } };
    const { facts } = await measureOnce(plan, [ask], { by: 'file' }, options, progress);
    starts = facts.get(ask) as Float64Array;
    if (starts.length === 0) starts = Float64Array.of(0);
  }
  const asks = measurementsFor([
    TALLY,
    ...overviewAsks(plan.files),
    ...spec.requirements.flatMap((requirement) => asksOf(requirement, delivery)),
  ]);
  const once = await measureOnce(plan, asks, passAssignment(spec.passes, starts), options, progress);
  return { ...once, starts };
}

/** Fewer points than this are not worth the start of worker threads. */
const FEW_POINTS = 3_000_000;

/** Reads some spans once more for something that was not known to be needed before. Faults were found the first time. */
export async function measureAgain(
  plan: Plan,
  tasks: Task[],
  asks: readonly Ask[],
  rule: PassRule,
  { starts }: Measured,
  options: MeasureOptions,
): Promise<Facts> {
  const points = tasks.reduce((sum, task) => sum + task.span.points, 0);
  const part: Plan = { ...plan, tasks, files: plan.files.map((file) => ({ ...file })) };
  const workers = points < FEW_POINTS ? 1 : options.workers;
  const passes = passAssignment(rule, starts);
  const { facts } = await measureOnce(
    part,
    measurementsFor(asks),
    passes,
    { ...options, workers, cache: null },
    () => {},
  );
  return facts;
}

function passAssignment(rule: PassRule, starts: Float64Array | null): PassAssignment {
  return rule.by === 'gps-time-gap' ? { by: rule.by, starts: starts! } : { by: rule.by };
}

async function measureOnce(
  plan: Plan,
  asks: Ask[],
  passes: PassAssignment,
  options: MeasureOptions,
  progress: (result: TaskResult) => void,
): Promise<Omit<Measured, 'starts'>> {
  const columns = new Set<Column>(['xyz', 'flags', ...passColumns(passes)]);
  for (const { measurement, params } of asks) {
    for (const column of measurementById(measurement).columns(params)) columns.add(column);
  }
  const assignment: Assignment = {
    measurements: asks.map(({ measurement, params }) => ({ id: measurement, params })),
    columns: [...columns].sort(),
    files: plan.units,
    passes,
  };
  const facts = new Facts(asks);
  const boxes = new Map<string, Float64Array>();
  const faults = new Map<number, { first: number; facts: FaultFacts }>();
  await runAll(plan.tasks, assignment, asks, options, (result) => {
    progress(result);
    facts.absorb(result);
    result.tasks.forEach((task, i) => {
      boxes.set(spanKey(task), result.boxes.subarray(i * 6, i * 6 + 6));
    });
    for (const { task, fault } of result.faults) {
      // The first span of a file names its fault, whichever worker came first.
      const known = faults.get(task.file);
      const first = task.span.first;
      if (known && known.first <= first) continue;
      faults.set(task.file, { first, facts: { ...fault, where: plan.files[task.file].name } });
    }
  });
  for (const [index, { facts }] of faults) {
    const file = plan.files[index];
    if (file.fault !== null) continue;
    file.fault = Fault.sentence(facts);
    file.faultFacts = facts;
  }
  return { facts, boxes };
}

async function runAll(
  tasks: readonly Task[],
  assignment: Assignment,
  asks: readonly Ask[],
  { workers, cache, signal }: MeasureOptions,
  sink: (result: TaskResult) => void,
): Promise<void> {
  if (!cache) return runTasks(tasks, assignment, workers, sink, signal);
  return runCached(tasks, assignment, asks, workers, await MeasureCache.open(cache, assignment), sink, signal);
}

function countProgress(
  plan: Plan,
  rounds: number,
  report?: (progress: Progress) => void,
): (result: TaskResult) => void {
  const pointsTotal = rounds * plan.tasks.reduce((sum, task) => sum + task.span.points, 0);
  let pointsDone = 0;
  report?.({ pointsDone, pointsTotal });
  return ({ tasks }) => {
    for (const task of tasks) pointsDone += task.span.points;
    report?.({ pointsDone, pointsTotal });
  };
}
