import type { JudgedRequirement } from '../assemble/build-report.js';
import type { AnyCheck, Verdict } from '../checks/contract/check.js';
import { refuseUndeclared } from '../checks/contract/metric.js';
import { checkById } from '../checks/index.js';
import type { DeliveryFacts } from '../delivery/delivery.js';
import { measurementsBehind } from '../engine/facts.js';
import { type MeasuredDelivery, type MeasureOptions, measureSecondReading } from '../engine/measure-delivery.js';
import type { WorkPlan } from '../engine/work-plan.js';
import { Fault, isInternalError } from '../fault.js';
import type { FactRequest } from '../measure/contract/measurement.js';
import { type FactRequests, requestList } from '../measure/fact-types.js';
import type { SpecRequirement } from '../spec/acceptance-spec.js';
import { adviseUnread, withUnread } from './unread-files.js';

/** What each requirement of the spec asks to be measured, or the internal error on the way to know it. */
export type Requests = ReadonlyMap<SpecRequirement, FactRequests | Fault>;

/**
 * What the check of a requirement asks to be measured.
 * @returns an internal error instead of throwing it: the other requirements are judged
 * @throws Fault for an error in the user's input
 */
export function requestsOf(requirement: SpecRequirement, delivery: DeliveryFacts): FactRequests | Fault {
  return askedBy(requirement, () => checkById(requirement.check)?.needs(requirement, { delivery }) ?? {});
}

/** All facts that are asked for; what ended in an internal error asks for none. */
export function factsAsked(requests: Iterable<FactRequests | Fault>): FactRequest[] {
  return [...requests].flatMap((asked) => (asked instanceof Fault ? [] : requestList(asked)));
}

function askedBy({ check }: SpecRequirement, needs: () => FactRequests): FactRequests | Fault {
  try {
    const asked = needs();
    // Unknown facts and wrong parameters throw here, before anything is measured.
    measurementsBehind(requestList(asked));
    return asked;
  } catch (error) {
    const fault = Fault.from(error, `check ${check}`);
    if (!isInternalError(fault.facts)) throw fault;
    return fault;
  }
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
  const forCauses = new Map<SpecRequirement, FactRequests | Fault>();
  for (const { requirement, check, verdict } of judged) {
    if (verdict.state !== 'fail' || check.needsForCauses === undefined) continue;
    const more = askedBy(requirement, () => check.needsForCauses?.(requirement, { delivery }) ?? {});
    if (more instanceof Fault || requestList(more).length > 0) forCauses.set(requirement, more);
  }
  const unknown = factsAsked(forCauses.values()).filter((request) => !measured.facts.has(request));
  if (unknown.length > 0)
    measured.facts.addSecondReading(await measureSecondReading(plan, unknown, delivery.passRule, measured, how));
  return judged.map((one) => {
    const more = forCauses.get(one.requirement);
    if (!more) return one;
    const verdict = judgeOne(one.check, one.requirement, [requests.get(one.requirement)!, more], measured, delivery);
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
    return { requirement, check, verdict: judgeOne(check, requirement, [own], measured, delivery), crossSections: [] };
  });
}

function judgeOne(
  check: AnyCheck,
  requirement: SpecRequirement,
  asked: readonly (FactRequests | Fault)[],
  { facts: known }: MeasuredDelivery,
  delivery: DeliveryFacts,
): Verdict {
  try {
    let requests: FactRequests = {};
    for (const some of asked) {
      if (some instanceof Fault) throw some;
      requests = { ...requests, ...some };
    }
    const verdict = check.judge(known.getAll(requests), requirement, { delivery });
    refuseUndeclared(check.id, check.metrics, verdict);
    const advised = adviseUnread(verdict, delivery);
    return requestList(requests).length > 0 ? quickLook(withUnread(advised, delivery), check, delivery) : advised;
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

/** A quick look at a sample shows figures, unless only all points can tell, but is neither a pass nor a fail. */
function quickLook(verdict: Verdict, { allPoints }: AnyCheck, { sample }: DeliveryFacts): Verdict {
  if (sample === null || verdict.state === 'not-applicable') return verdict;
  const look = `Quick look at ${Math.round(sample * 1000) / 10} % of the points, not a test`;
  if (allPoints === true) {
    const summary = `${look}: only all points together can show this.`;
    return { ...verdict, state: 'undetermined', summary, measured: {}, evidence: [], advice: [] };
  }
  const words = `${look}: ${verdict.summary}`;
  return { ...verdict, state: 'undetermined', summary: words };
}

/** The verdicts again, where a file was found changed only after they were reached. */
export function withChangedFiles(
  judged: readonly JudgedRequirement[],
  requests: Requests,
  delivery: DeliveryFacts,
): JudgedRequirement[] {
  return judged.map((one) => {
    const measures = factsAsked([requests.get(one.requirement)!]).length > 0;
    return measures ? { ...one, verdict: withUnread(one.verdict, delivery) } : one;
  });
}
