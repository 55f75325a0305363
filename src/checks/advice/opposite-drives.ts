import { figure, length, plural, signedLength } from '../contract/wording.js';
import type { AdviceRule, DrivenPair, Estimate, PassFacts } from './rule.js';

const SIGNIFICANT = 3;
/**
 * How far pairs of opposite drives may lie from their mean, how much of it pairs of the same direction may show, and how much
 * of it all drives may show in height, which no mounting makes different between two directions.
 */
const ALIKE = 0.35;
const SAME_DIRECTION = 0.35;
const IN_HEIGHT = 0.35;

type Effect = 'left' | 'along' | 'tilt';

interface Mirrored {
  /** What the mounting does to every pass, in the frame of the vehicle: half of what opposite drives show, the other way. */
  mounting: number;
  std: number;
  opposite: number;
  same: number;
  /** How far apart opposite drives lie by it, metres. */
  apart: number;
}

/**
 * The effect that opposite drives show mirrored: of the same size and sense in the driving direction of the first for every pair
 * of opposite drives, and next to nothing between drives the same way. Null otherwise.
 */
function mirrored({ pairs, limit }: PassFacts, effect: Effect): Mirrored | null {
  const driven = pairs.flatMap((p) => (p.driven === null ? [] : [p.driven]));
  const effectsOf = (direction: DrivenPair['direction']) =>
    driven.flatMap((d): { effectSize: Estimate; reach: number }[] => {
      const effectSize = d.direction === direction ? d[effect] : null;
      return effectSize === null ? [] : [{ effectSize, reach: effect === 'tilt' ? d.halfWidth : 1 }];
    });
  const opposite = effectsOf('opposite');
  if (opposite.length === 0) return null;
  const mean = opposite.reduce((sum, { effectSize }) => sum + effectSize.value, 0) / opposite.length;
  const std = Math.sqrt(opposite.reduce((sum, { effectSize }) => sum + effectSize.std ** 2, 0)) / opposite.length;
  const reach = opposite.reduce((least, o) => Math.min(least, o.reach), Number.POSITIVE_INFINITY);
  const apart = Math.abs(mean) * reach;
  if (Math.abs(mean) <= SIGNIFICANT * std || apart <= limit / 2) return null;
  const alike = ({ effectSize }: { effectSize: Estimate }) =>
    Math.abs(effectSize.value - mean) <= Math.max(ALIKE * Math.abs(mean), SIGNIFICANT * effectSize.std);
  if (!opposite.every(alike)) return null;
  const same = effectsOf('same');
  const still = ({ effectSize }: { effectSize: Estimate }) =>
    Math.abs(effectSize.value) <= Math.max(SAME_DIRECTION * Math.abs(mean), SIGNIFICANT * effectSize.std);
  if (!same.every(still)) return null;
  const heights = pairs.filter((p) => p.driven?.direction === 'opposite').map((p) => Math.abs(p.meanDz ?? 0));
  if (heights.reduce((a, b) => Math.min(a, b), Number.POSITIVE_INFINITY) > IN_HEIGHT * apart) return null;
  return { mounting: -mean / 2, std: std / 2, opposite: opposite.length, same: same.length, apart };
}

/** The one pass that took part in every pair of opposite drives; null where there are several. */
function lonePass({ pairs }: PassFacts): string | null {
  const opposite = pairs.filter((p) => p.driven?.direction === 'opposite');
  if (opposite.length < 2) return null;
  return [opposite[0].a, opposite[0].b].find((pass) => opposite.every((p) => p.a === pass || p.b === pass)) ?? null;
}

const RADIANS_TO_DEGREES = 180 / Math.PI;

export const oppositeDrives: AdviceRule<'passes'> = {
  id: 'opposite-drives',
  title: 'boresight angles or lever arm of the scanner',
  why: 'An error fixed to the vehicle turns with it: drives the opposite way show it mirrored, drives the same way not at all.',
  sources: [
    {
      standard: 'common practice',
      note: 'driving direction from the order of GPS times; three standard deviations; half of the difference is the error of the mounting',
    },
  ],
  reads: 'passes',

  advise(all) {
    // Two heads of one vehicle turn together: what they show is not mirrored.
    const facts = { ...all, pairs: all.pairs.filter(({ heads }) => !heads) };
    const [left, along, tilt] = (['left', 'along', 'tilt'] as const).map((effect) => mirrored(facts, effect));
    const found = left ?? along ?? tilt;
    if (!found) return null;
    const parts: string[] = [];
    const causes: string[] = [];
    const figures: Record<string, ReturnType<typeof figure>> = {};
    const say = (name: string, m: Mirrored | null, text: (m: Mirrored) => string, cause: string) => {
      if (!m) return;
      parts.push(text(m));
      causes.push(cause);
      figures[name] = figure(m.mounting, name === 'roll' ? 'degree' : 'm');
    };
    say(
      'left',
      left,
      (m) => `${signedLength(m.mounting)} to the left of each drive`,
      'across the road, at the roll angle and the sideways offset of the scanner',
    );
    say(
      'along',
      along,
      (m) => `${signedLength(m.mounting)} along each drive`,
      'along the road, at the pitch angle, the lengthwise offset, and the time between scanner and positioning system',
    );
    const degrees = tilt ? { ...tilt, mounting: Math.atan(tilt.mounting) * RADIANS_TO_DEGREES } : null;
    say(
      'roll',
      degrees,
      (m) => `a roll of ${m.mounting.toFixed(4)} degrees, left side up`,
      'for heights that tilt across the road, at the roll angle',
    );
    figures.opposite = figure(found.opposite, 'count');
    figures.same = figure(found.same, 'count');
    const check =
      found.same > 0
        ? `${plural(found.same, 'pair')} of drives the same way ${found.same === 1 ? 'does' : 'do'} not show it`
        : 'there is no pair of drives the same way to compare with, so a shift of one pass may look the same';
    const lone = lonePass(facts);
    const doubt =
      lone === null ? '' : ` Only ${lone} was driven the other way, so a shift of that pass looks the same.`;
    return {
      text: `Drives in opposite directions lie up to ${length(found.apart)} apart, mirrored: ${parts.join(', ')} in ${plural(found.opposite, 'pair')}; ${check}. That points to the mounting of the scanner on the vehicle: look, ${causes.join('; ')}.${doubt}`,
      figures,
    };
  },
};
