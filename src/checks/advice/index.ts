import type { LikelyCause } from '../contract/check.js';
import { constantHeightOffset } from './constant-height-offset.js';
import { driftInOutage } from './drift-in-outage.js';
import { footForFootRule } from './foot-for-foot.js';
import { grossShift } from './gross-shift.js';
import { growthSinceAlignment } from './growth-since-alignment.js';
import { heightTilt } from './height-tilt.js';
import { heightUnit } from './height-unit.js';
import { noClosingAlignment } from './no-closing-alignment.js';
import { onePassHeight } from './one-pass-height.js';
import { onePassShifted } from './one-pass-shifted.js';
import { oppositeDrives } from './opposite-drives.js';
import { outageDrift } from './outage-drift.js';
import { passShift } from './pass-shift.js';
import { planOffsetOneWay } from './plan-offset-one-way.js';
import { pointsAxesSwapped } from './points-axes-swapped.js';
import { pointsElsewhere } from './points-elsewhere.js';
import { pointsInAnotherUnit } from './points-in-another-unit.js';
import { rangeGrowth } from './range-growth.js';
import { roughSurface } from './rough-surface.js';
import type { AdviceFacts, AdviceRule } from './rule.js';
import { satelliteOutage } from './satellite-outage.js';
import { scannerHeads } from './scanner-heads.js';
import { singleBlunder } from './single-blunder.js';
import { steppedSurface } from './stepped-surface.js';
import { trajectoryDrift } from './trajectory-drift.js';

// biome-ignore lint/suspicious/noExplicitAny: the list holds rules of every kind; each is checked where it is defined
type AnyRule = AdviceRule<any>;

/** Every rule there is, one line each; of rules that speak at once, the more telling one first. */
export const adviceRules: readonly AnyRule[] = [
  pointsInAnotherUnit,
  pointsAxesSwapped,
  pointsElsewhere,
  heightUnit,
  footForFootRule,
  onePassHeight,
  heightTilt,
  constantHeightOffset,
  planOffsetOneWay,
  singleBlunder,
  grossShift,
  passShift,
  onePassShifted,
  scannerHeads,
  oppositeDrives,
  rangeGrowth,
  outageDrift,
  growthSinceAlignment,
  noClosingAlignment,
  driftInOutage,
  satelliteOutage,
  trajectoryDrift,
  roughSurface,
  steppedSurface,
];

/** What the rules make of the facts: likely causes, in the order of the rules. */
export function likelyCauses<Kind extends keyof AdviceFacts>(kind: Kind, facts: AdviceFacts[Kind]): LikelyCause[] {
  return adviceRules
    .filter((rule) => rule.reads === kind)
    .flatMap((rule) => {
      const advice = rule.advise(facts);
      return advice ? [{ rule: rule.id, title: rule.title, ...advice }] : [];
    });
}
