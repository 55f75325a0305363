import { passLabel } from '../../delivery/delivery.js';
import { fitLine } from '../../geometry/line-fit.js';
import { rmse } from '../../geometry/statistics.js';
import type { PassPairs } from '../../measure/pass-pairs.js';
import type { PassTimes } from '../../measure/pass-times.js';
import { driftOfPasses, type PassDrift } from '../../measure/passes/drift-of-passes.js';
import type { DriftFacts, Estimate } from '../advice/rule.js';
import { afterGap } from '../advice/satellite-outage.js';
import type { JudgeContext, Requirement, State } from '../contract/check.js';
import { COVERAGE } from '../contract/coverage-factor.js';
import { length, signedLength } from '../contract/wording.js';
import { inMillimetresPerMinute, stepText, whenIn } from './drift-evidence.js';
import type { PassDriftOptions } from './drift-options.js';

/** Of two passes that differ from each other, the one whose change follows a gap in its GPS time; null where none or both do. */
export function suspectOf(both: readonly JudgedDrift[], r: PassDriftOptions): JudgedDrift | null {
  const behindGap = both.filter((one) => afterGap(driftFacts(one, r)) !== null);
  return behindGap.length === 1 ? behindGap[0] : null;
}

/** A pass held against the limits along its GPS time; `excess`: the largest share of a limit that it reaches. */
export interface JudgedDrift {
  drift: PassDrift;
  name: string;
  state: State;
  excess: number;
  text: string;
}

/**
 * With three passes and more, one that goes wrong makes the others look half as wrong: the worst is set aside and the
 * rest are judged by one another, again and again, until nothing exceeds a limit or two are left.
 */
export function findFaulty(
  tested: readonly PassDrift[],
  { pairs }: PassPairs,
  times: PassTimes,
  r: Requirement<PassDriftOptions>,
  context: JudgeContext,
): JudgedDrift[] {
  const faulty: JudgedDrift[] = [];
  const aside = new Set<number>();
  let left = tested;
  for (;;) {
    const judged = left.map((drift) => judgePass(drift, r, context));
    // By all its bins: a single one may have been compared with the faulty pass alone.
    const failing = judged
      .filter((j) => j.state === 'fail')
      .sort((a, b) => rmse(b.drift.offset) - rmse(a.drift.offset));
    if (failing.length === 0 || left.length <= 2) return [...faulty, ...judged];
    faulty.push(failing[0]);
    aside.add(failing[0].drift.pass);
    const again = driftOfPasses(pairs, times, r, aside).filter((d) => d.time.length >= r.minBins);
    // A pass that overlaps with none but those set aside keeps the verdict it had against them.
    const alone = judged.filter((j) => !aside.has(j.drift.pass) && !again.some((d) => d.pass === j.drift.pass));
    if (again.length === 0) return [...faulty, ...alone];
    left = again;
    for (const one of alone) faulty.push(one);
    for (const { drift } of alone) aside.add(drift.pass);
  }
}

/** Bins on a side of a gap of time needed for a slope there. */
const LEAST_BINS = 5;

function judgePass(drift: PassDrift, r: Requirement<PassDriftOptions>, context: JudgeContext): JudgedDrift {
  const name = passLabel(context.delivery, drift.pass);
  const parts: string[] = [];
  let state: State = 'pass';
  let excess = 0;
  const hold = (value: number, std: number, limit: number, text: string) => {
    const guard = r.decision === 'guarded' ? COVERAGE * std : 0;
    excess = Math.max(excess, Math.abs(value) / limit);
    parts.push(text);
    if (Math.abs(value) - guard > limit) state = 'fail';
    else if (Math.abs(value) + guard > limit && state === 'pass') state = 'undetermined';
  };
  const unknown = (text: string) => {
    if (state === 'pass') state = 'undetermined';
    parts.push(text);
  };
  if (r.maxOffset !== undefined) {
    const offset = drift.offset[drift.worst];
    const where = whenIn(drift, drift.time[drift.worst]);
    hold(
      offset,
      drift.std[drift.worst],
      r.maxOffset,
      `up to ${signedLength(offset)} against the others at ${where} (limit ${length(r.maxOffset)})`,
    );
  }
  if (r.maxSlope !== undefined) {
    const s = drift.slope;
    if (s === null) unknown(`no stretch of ${r.minSeconds} s long enough for a slope`);
    else {
      const slope = inMillimetresPerMinute(s.slope);
      hold(
        slope,
        inMillimetresPerMinute(s.std),
        r.maxSlope,
        `drift of ${signed(slope)} mm/min from ${whenIn(drift, s.from)} to ${whenIn(drift, s.to)} (limit ${r.maxSlope} mm/min)`,
      );
    }
  }
  if (r.maxStep !== undefined) {
    if (drift.step === null) unknown('too few bins for a step');
    else
      hold(drift.step.step, drift.step.std, r.maxStep, `${stepText(drift, drift.step)} (limit ${length(r.maxStep)})`);
  }
  return { drift, name, state, excess, text: `${name}: ${parts.join(', ')}` };
}

function signed(value: number): string {
  return `${value > 0 ? '+' : ''}${value.toFixed(1)}`;
}

/** What the rules of advice read of a pass. */
export function driftFacts({ drift, name }: JudgedDrift, { bin, window }: PassDriftOptions): DriftFacts {
  const { time, offset, cells, steps, slope } = drift;
  const slopeOf = (from: number, to: number): Estimate | null => {
    const line = to - from < LEAST_BINS ? null : fitLine(time, offset, cells, from, to);
    return line && { value: line.slope, std: line.slopeStd };
  };
  const gaps: DriftFacts['gaps'][number][] = [];
  for (let i = 1; i < time.length; i++) {
    if (time[i] - time[i - 1] <= 1.5 * bin) continue;
    let [from, to] = [i, i];
    while (from > 0 && time[i - 1] - time[from - 1] < window) from--;
    while (to < time.length && time[to] - time[i] < window) to++;
    gaps.push({ from: time[i - 1] + bin, to: time[i], before: slopeOf(from, i), after: slopeOf(i, to) });
  }
  return { pass: name, steps, slope, gaps };
}
