import type { JudgedRequirement } from '../assemble/build-report.js';
import type { AnyCheck, Verdict } from '../checks/contract/check.js';
import { checkById } from '../checks/index.js';
import type { DeliveredFile, DeliveryFacts } from '../delivery/delivery.js';
import { isChanged } from '../engine/changed-files.js';
import { damagedPoints, isOnlyDamaged } from '../engine/damaged-chunks.js';
import { type MeasuredDelivery, type MeasureOptions, measureSecondReading } from '../engine/measure-delivery.js';
import type { WorkPlan } from '../engine/work-plan.js';
import { Fault, isInternalError } from '../fault.js';
import { type FactRequests, requestList } from '../measure/fact-types.js';
import type { SpecRequirement } from '../spec/acceptance-spec.js';

/** What each requirement of the spec asks to be measured. */
export type Requests = ReadonlyMap<SpecRequirement, FactRequests>;

/** What the check of a requirement asks to be measured. */
export function requestsOf(requirement: SpecRequirement, delivery: DeliveryFacts): FactRequests {
  return checkById(requirement.check)?.needs(requirement, { delivery }) ?? {};
}

/**
 * Judges every requirement. Requirements that fail are judged again with further facts, from which their checks find likely
 * causes; where these facts were not measured yet, all points are read a second time.
 */
export async function judgeWithCauses(
  plan: WorkPlan,
  requests: Requests,
  measured: MeasuredDelivery,
  delivery: DeliveryFacts,
  how: MeasureOptions,
): Promise<JudgedRequirement[]> {
  const judged = judgeAll(requests, measured, delivery);
  const forCauses = new Map<SpecRequirement, FactRequests>();
  for (const { requirement, check, verdict } of judged) {
    const more = check.needsForCauses?.(requirement, { delivery }) ?? {};
    if (verdict.state === 'fail' && requestList(more).length > 0) forCauses.set(requirement, more);
  }
  const unknown = [...forCauses.values()].flatMap(requestList).filter((request) => !measured.facts.has(request));
  if (unknown.length > 0)
    measured.facts.addSecondReading(await measureSecondReading(plan, unknown, delivery.passRule, measured, how));
  return judged.map((one) => {
    const more = forCauses.get(one.requirement);
    if (!more) return one;
    const known = { ...requests.get(one.requirement), ...more };
    const verdict = judgeOne(one.check, one.requirement, known, measured, delivery);
    // Likely causes are an extra: an error on the way to them must not change the verdict, but it is reported.
    return {
      ...one,
      verdict: verdict.internalError ? { ...one.verdict, internalError: verdict.internalError } : verdict,
    };
  });
}

/** Judges every requirement on the facts that its check asked for. */
function judgeAll(requests: Requests, measured: MeasuredDelivery, delivery: DeliveryFacts): JudgedRequirement[] {
  return [...requests].map(([requirement, own]) => {
    const check = checkById(requirement.check);
    if (!check) throw new RangeError(`no check is called ${requirement.check}`);
    return { requirement, check, verdict: judgeOne(check, requirement, own, measured, delivery), crossSections: [] };
  });
}

function judgeOne(
  check: AnyCheck,
  requirement: SpecRequirement,
  requests: FactRequests,
  { facts: known }: MeasuredDelivery,
  delivery: DeliveryFacts,
): Verdict {
  try {
    const verdict = check.judge(known.getAll(requests), requirement, { delivery });
    const advised = adviseUnread(verdict, delivery);
    return requestList(requests).length > 0 ? quickLook(withUnread(advised, delivery), delivery) : advised;
  } catch (error) {
    // A fact that could not be worked out makes this requirement undetermined; the others go on.
    const { facts, message } = Fault.from(error, `check ${check.id}`);
    const verdict: Verdict = {
      state: 'undetermined',
      summary: message,
      measured: {},
      limits: {},
      evidence: [],
      advice: [],
    };
    return isInternalError(facts) ? { ...verdict, internalError: facts } : verdict;
  }
}

/** A quick look at a sample shows figures, but is neither a pass nor a fail. */
function quickLook(verdict: Verdict, { sample }: DeliveryFacts): Verdict {
  if (sample === null || verdict.state === 'not-applicable') return verdict;
  const words = `Quick look at ${Math.round(sample * 1000) / 10} % of the points, not a test: ${verdict.summary}`;
  return { ...verdict, state: 'undetermined', summary: words };
}

/** The verdicts again, where a file was found changed only after they were reached. */
export function withChangedFiles(
  judged: readonly JudgedRequirement[],
  requests: Requests,
  delivery: DeliveryFacts,
): JudgedRequirement[] {
  return judged.map((one) => {
    const measures = requestList(requests.get(one.requirement) ?? {}).length > 0;
    return measures ? { ...one, verdict: withUnread(one.verdict, delivery) } : one;
  });
}

/**
 * A requirement that passes on the points that were read does not pass where other points could not be read. Where a file
 * changed while it was read, none fails either: its figures may mix old and new points.
 */
function withUnread(verdict: Verdict, delivery: DeliveryFacts): Verdict {
  const changed = delivery.files.filter(isChanged);
  if (verdict.state === 'fail' && changed.length > 0) {
    const names = changed.slice(0, 3).map(({ name }) => name);
    const rest = changed.length > 3 ? ` and ${changed.length - 3} more files` : '';
    const summary = `${verdict.summary} That is not certain, because files changed while they were read: ${names.join(', ')}${rest}.`;
    return { ...verdict, state: 'undetermined', summary };
  }
  const unread = delivery.files.filter((file) => file.fault !== null);
  if (unread.length === 0 || verdict.state !== 'pass') return verdict;
  const names = unread.slice(0, 3).map(unreadPart);
  const rest = unread.length > 3 ? ` and ${unread.length - 3} more files` : '';
  return {
    ...verdict,
    state: 'undetermined',
    summary: `${verdict.summary} That holds for the points that could be read; what could not: ${names.join(', ')}${rest}.`,
  };
}

/**
 * Where a file could not be read in full, what is missing there may explain a requirement that is not met: the file comes
 * first. What the check advises is kept only where something is wrong in files that were read.
 */
function adviseUnread(verdict: Verdict, delivery: DeliveryFacts): Verdict {
  const unread = new Set(delivery.files.filter((file) => file.fault !== null).map((file) => file.name));
  if (unread.size === 0 || verdict.state === 'pass' || verdict.state === 'not-applicable') return verdict;
  const wrongElsewhere = verdict.evidence.some(
    (part) => part.kind === 'locations' && part.items.some(({ file }) => file !== undefined && !unread.has(file)),
  );
  const names = [...unread];
  const listed = `${names.slice(0, 3).join(', ')}${names.length > 3 ? ` and ${names.length - 3} more files` : ''}`;
  const first = `First replace ${listed}, which could not be read in full, and check again: what is missing there may explain this.`;
  return { ...verdict, advice: [first, ...(wrongElsewhere ? verdict.advice : [])] };
}

function unreadPart(file: DeliveredFile): string {
  if (!isOnlyDamaged(file)) return file.name;
  const points = damagedPoints(file).toLocaleString('en-GB');
  return `${points} points of ${file.name} in ${file.damage.length === 1 ? 'a damaged chunk' : `${file.damage.length} damaged chunks`}`;
}
