import { checkById } from '../checks/index.js';
import type { Column } from '../cloud/columns.js';
import type { DeliveredFile, DeliveryFacts, PassRule } from '../delivery/delivery.js';
import { Fault, type FaultFacts } from '../fault.js';
import { measurementById } from '../measure/index.js';
import type { AcceptanceSpec, SpecRequirement } from '../spec/acceptance-spec.js';
import { AreaStore } from './areas.js';
import { MeasureCache } from './cache.js';
import { runCached } from './cached-run.js';
import { ALONE, type Crew } from './crew.js';
import { damagedChunks, faultOfDamage, isOnlyDamaged, type Run, runWithoutDamage } from './damage.js';
import { overviewAsks } from './overview.js';
import type { Plan } from './plan.js';
import { runTasks } from './pool.js';
import { type Ask, assigned, Facts, measurementsFor } from './reduce.js';
import { SpanFaults } from './span-faults.js';
import { type PassAssignment, passColumns, type Task, type TaskResult } from './task.js';

export interface Progress {
  pointsDone: number;
  pointsTotal: number;
}

export interface MeasureOptions {
  crew: Crew;
  onProgress?: (progress: Progress) => void;
  signal?: AbortSignal;
  /** Folder in which measured files are kept between runs. */
  cache?: string | null;
}

export interface Measured {
  facts: Facts;
  /** Seconds at which passes begin, when gaps in GPS time tell them apart; else null. */
  starts: Float64Array | null;
  /** What each requirement asked for, as it was measured. */
  asks: ReadonlyMap<SpecRequirement, readonly Ask[]>;
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
  const asks = new Map(spec.requirements.map((requirement) => [requirement, asksOf(requirement, delivery)]));
  const wanted = [TALLY, ...overviewAsks(plan.files), ...[...asks.values()].flat()];
  for (;;) {
    const starts =
      spec.passes.by === 'gps-time-gap' ? await passStarts(plan, spec.passes.gap, options, progress) : null;
    const known = damagedChunks(plan.files);
    const passes = passAssignment(spec.passes, starts);
    const once = await measureOnce(plan, wanted, passes, options, progress);
    const again = once.facts.again(wanted);
    if (again.length > 0) once.facts.adopt((await measureOnce(plan, again, passes, options, () => {})).facts);
    // More columns show more damage: then times of damaged chunks may have told passes apart.
    if (starts === null || damagedChunks(plan.files) === known) return { ...once, asks, starts };
  }
}

/** GPS times at which passes begin, ascending; one at least. */
async function passStarts(
  plan: Plan,
  gap: number,
  options: MeasureOptions,
  progress: (result: TaskResult) => void,
): Promise<Float64Array> {
  const ask: Ask = { measurement: 'time-segments', params: { gap } };
  const { facts } = await measureOnce(plan, [ask], { by: 'file' }, options, progress);
  const starts = facts.get(ask) as Float64Array;
  return starts.length === 0 ? Float64Array.of(0) : starts;
}

/** Fewer points than this are not worth handing out. */
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
  const crew = points < FEW_POINTS ? ALONE : options.crew;
  return measureBesides({ ...plan, tasks }, asks, rule, { starts }, { ...options, crew, cache: null });
}

/** Reads all points once more for something else. Faults were found the first time. */
export async function measureBesides(
  plan: Plan,
  asks: readonly Ask[],
  rule: PassRule,
  { starts }: Pick<Measured, 'starts'>,
  options: MeasureOptions,
): Promise<Facts> {
  const again: Plan = { ...plan, files: plan.files.map((file) => ({ ...file })) };
  const { facts } = await measureOnce(again, asks, passAssignment(rule, starts), options, () => {});
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
  plan: Plan,
  asks: readonly Ask[],
  passes: PassAssignment,
  options: MeasureOptions,
  progress: (result: TaskResult) => void,
  patient = false,
): Promise<Pick<Measured, 'facts' | 'boxes'>> {
  const roots = measurementsFor(asks);
  const columns = new Set<Column>(['xyz', 'flags', ...passColumns(passes)]);
  for (const { measurement, params } of roots) {
    for (const column of measurementById(measurement).columns(params)) columns.add(column);
  }
  const assignment = {
    measurements: assigned(roots, asks),
    cutAreas: !options.cache,
    columns: [...columns].sort(),
    files: plan.units,
    passes,
  };
  const begin = (): ReadingOnce =>
    new ReadingOnce(roots, new AreaStore(assignment.measurements, plan.tasks, plan.files, { patient }), progress);
  const { facts, boxes, faults, areas } = await runWithoutDamage(
    plan.files,
    plan.tasks,
    assignment,
    begin,
    runner(plan.tasks, roots, options),
  );
  if (areas.late && !patient) return measureOnce(plan, asks, passes, options, () => {}, true);
  for (const file of plan.files) noteFault(file, faults.of(file.index));
  return { facts, boxes };
}

/** What one reading of all points gives. */
class ReadingOnce {
  readonly facts: Facts;
  readonly boxes = new Map<string, Float64Array>();
  readonly faults = new SpanFaults();
  readonly areas: AreaStore;
  readonly #progress: (result: TaskResult) => void;

  constructor(roots: readonly Ask[], areas: AreaStore, progress: (result: TaskResult) => void) {
    this.facts = new Facts(roots, areas);
    this.areas = areas;
    this.#progress = progress;
  }

  absorb(result: TaskResult): void {
    this.#progress(result);
    this.facts.absorb(result);
    this.faults.add(result);
    result.tasks.forEach((task, i) => {
      this.boxes.set(spanKey(task), result.boxes.subarray(i * 6, i * 6 + 6));
    });
  }
}

/** A span that could not be read at all says more than damaged chunks do; what is known of an earlier reading stays. */
function noteFault(file: DeliveredFile, unread: FaultFacts | null): void {
  if (file.fault !== null && !isOnlyDamaged(file)) return;
  const found = unread ? { ...unread, where: file.name } : file.damage.length > 0 ? faultOfDamage(file).facts : null;
  if (found === null) return;
  file.fault = Fault.sentence(found);
  file.faultFacts = found;
}

function runner(
  tasks: readonly Task[],
  roots: readonly Ask[],
  { crew, cache, signal }: MeasureOptions,
): Run<ReadingOnce> {
  return async (assignment, { areas }, sink, isSound) => {
    if (!cache) return runTasks(tasks, assignment, crew, sink, signal, { areas });
    const kept = await MeasureCache.open(cache, assignment);
    return runCached(tasks, assignment, roots, crew, kept, sink, isSound, { signal, areas });
  };
}

function countProgress(
  plan: Plan,
  rounds: number,
  report?: (progress: Progress) => void,
): (result: TaskResult) => void {
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
