import { passLabel } from '../../delivery/delivery.js';
import { areHeads } from '../../delivery/passes.js';
import type { PassPair } from '../../measure/pass-pairs.js';
import type { PassTimes } from '../../measure/pass-times.js';
import type { PassTrack } from '../../measure/pass-tracks.js';
import { drivenPair } from '../../measure/passes/pass-headings.js';
import { rangeSlope } from '../../measure/passes/pass-ranges.js';
import type { Figure, JudgeContext, LikelyCause, State } from '../contract/check.js';
import { heightVariation } from '../passes/height-variation.js';
import type { Mounting } from '../vehicle/mountings.js';
import { likelyCauses } from './index.js';
import type { PairFacts } from './rule.js';

interface JudgedPair {
  pair: PassPair;
  state: State;
}

/**
 * Likely causes why passes do not agree. `times` and `tracks` (pass-times and pass-tracks) show how each pass was driven;
 * undefined where they were not measured.
 */
export function passCauses<Judged extends JudgedPair>(
  tested: readonly Judged[],
  worst: Judged,
  {
    times,
    tracks,
    mountings,
  }: { times?: PassTimes; tracks?: ReadonlyMap<number, PassTrack>; mountings?: readonly Mounting[] },
  limits: Record<string, Figure>,
  { delivery }: JudgeContext,
): LikelyCause[] {
  const worstAt = tested.indexOf(worst);
  const pairs = tested.map(
    ({ pair, state }, at): PairFacts => ({
      a: passLabel(delivery, pair.a),
      b: passLabel(delivery, pair.b),
      heads: areHeads(delivery.passRule, pair.a, pair.b),
      failing: state === 'fail',
      cells: pair.cells,
      meanDz: pair.meanDz,
      variation: at === worstAt ? heightVariation(pair.map) : null,
      shift: pair.shift,
      length: pair.shiftLength,
      std: Math.max(0, ...pair.directions.map((d) => d.std)),
      gross: pair.gross,
      driven: times ? drivenPair(pair, times) : null,
      mounting: mountings?.[at]?.mounting ?? null,
      range: times && tracks ? rangeSlope(pair, times, tracks) : null,
    }),
  );
  const limit = Math.min(...Object.values(limits).flatMap(({ value, unit }) => (unit === 'm' ? [value!] : [])));
  return likelyCauses('passes', { limit, pairs, worst: worstAt });
}
