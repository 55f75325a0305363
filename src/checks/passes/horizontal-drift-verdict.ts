import { passLabel } from '../../delivery/delivery.js';
import type { HorizontalDrift } from '../../measure/passes/horizontal-drift.js';
import type { JudgeContext, State } from '../contract/check.js';
import { COVERAGE } from '../contract/coverage-factor.js';
import { length, plural } from '../contract/wording.js';

/** What the walls say of the passes along GPS time. */
export interface HorizontalVerdict {
  state: State;
  /** Largest offset in any bin, metres; null where no bin shows one. */
  largest: number | null;
  text: string;
}

/**
 * Holds the horizontal offset of the passes in every bin of time against its limit. A seen direction that exceeds it fails; a pass needs both
 * directions in half of the bins of every pass, because a bin that shows one direction may lie far off in the other.
 */
export function judgeHorizontalDrift(
  drifts: readonly HorizontalDrift[],
  limit: number,
  { minBins, guarded }: { minBins: number; guarded: boolean },
  { delivery }: JudgeContext,
): HorizontalVerdict {
  const tested = drifts.filter(({ bins }) => bins.length >= minBins);
  if (tested.length === 0) {
    return {
      state: 'undetermined',
      largest: null,
      text: `no pass could be followed horizontally: at most ${plural(
        drifts.reduce((most, { bins }) => Math.max(most, bins.length), 0),
        'bin',
      )} with enough common walls, ${minBins} needed`,
    };
  }
  const judged = tested.map(({ pass, bins }) => {
    const worst = bins.reduce((a, b) => (b.offset > a.offset ? b : a));
    const guard = guarded ? COVERAGE * worst.std : 0;
    const whole = bins.filter((bin) => bin.whole).length;
    const proven = 2 * whole >= bins.length && worst.offset + guard <= limit;
    const state: State = worst.offset - guard > limit ? 'fail' : proven ? 'pass' : 'undetermined';
    return { pass, worst, whole, bins: bins.length, state };
  });
  const order: State[] = ['fail', 'undetermined', 'pass'];
  const [first] = judged.sort(
    (a, b) => order.indexOf(a.state) - order.indexOf(b.state) || b.worst.offset - a.worst.offset || a.pass - b.pass,
  );
  return {
    state: first.state,
    largest: judged.reduce((most, { worst }) => Math.max(most, worst.offset), Number.NEGATIVE_INFINITY),
    text: `${passLabel(delivery, first.pass)}: horizontally up to ${length(first.worst.offset)} from the others at GPS time ${first.worst.time.toFixed(1)} s (limit ${length(limit)}), both directions shown in ${first.whole} of ${plural(first.bins, 'bin')}`,
  };
}
