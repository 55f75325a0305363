import { length, percent, plural } from '../contract/wording.js';
import { type PointCountTable, pointsAsked } from './point-count-tables.js';
import type { AccuracyFacts, AccuracyStatement, Aspect, MarkedSource, TestedPoints } from './standard.js';

/** What a standard asks of its check points. */
export interface PointRules {
  /** Table of numbers where the requirement names no other. */
  table: PointCountTable;
  /** How many times better than the class the points must be surveyed; null: better, no number given. */
  surveyFactor: number | null;
  addsSurvey: boolean;
}

/** Least share of the points in each quarter, and least spacing as a share of the diagonal (NSSDA, 3-C.3). */
const QUARTER_SHARE = 0.2;
const SPACING_SHARE = 0.1;
/** That spacing is written for this many points; more points are closer together, as the root of their number. */
const SPACED_POINTS = 20;
/** A mean above this share of the RMSE aimed at has a cause to be found (ASPRS Edition 2, 7.2). */
const MEAN_SHARE = 0.25;

const SPREAD_SOURCE: MarkedSource = {
  what: 'spread: 20 % of the points in each quarter, spaced by 10 % of the diagonal',
  source: 'FGDC-STD-007.3-1998, 3-C.3; USGS Lidar Base Specification 2025 rev. A, "well-distributed"',
  mark: 'read-T',
};
const INDEPENDENT_SOURCE: MarkedSource = {
  what: 'check points are independent of the control',
  source: 'ASPRS Edition 2, 7.12; USGS Lidar Base Specification 2025 rev. A, check points',
  mark: 'read-T',
};
const CLOSER_SOURCE: MarkedSource = {
  what: 'spacing of more than 20 points, closer by the root of 20 / n; quarters along a corridor, without spacing',
  source: 'own reading: the rule is written for 20 points over a rectangle',
  mark: 'computed',
};

export interface Conditions {
  count: AccuracyStatement['count'];
  spread: AccuracyStatement['spread'];
  /** That there are too few points, where they are; sentences have a form of their own for it. */
  tooFew: string[];
  /** Everything else that prevents a claim. */
  departures: string[];
  remarks: string[];
  sources: MarkedSource[];
}

/** Holds number, spread, survey and blunders of the check points against the rules. */
export function conditionsOf(facts: AccuracyFacts, rules: PointRules): Conditions {
  const table = facts.table ?? rules.table;
  const asked = pointsAsked(table, facts.area);
  const needed = facts.aspect === 'vertical' ? asked.open : asked.horizontal;
  const found = facts.tested?.points ?? 0;
  const count = { found, asked: needed, met: found >= needed };
  const spread = spreadOfPoints(facts);
  const departures = [...facts.incomplete];
  const remarks: string[] = [];
  const tooFew = count.met ? [] : [fewerThan(found, needed, table.title)];
  if (found > 0) {
    if (spread.met === null)
      departures.push('The area is not known, so the spread of the check points cannot be determined.');
    else if (!spread.met) {
      departures.push(spreadDeparture(spread, facts.spread?.n ?? 0));
      if (facts.layout === 'area')
        remarks.push('Along a road or a track the spread is described better with "layout": "corridor".');
    }
    judgeSurvey(facts, rules, departures, remarks);
  }
  if (facts.doubles.length > 0) departures.push(`Not every check point is independent: ${facts.doubles.join('; ')}.`);
  if (facts.blunders.length > facts.blundersAccepted)
    departures.push(`${plural(facts.blunders.length, 'blunder')} left out: ${facts.blunders.join(', ')}.`);
  else if (facts.blunders.length > 0)
    remarks.push(
      `${plural(facts.blunders.length, 'blunder')} left out, as the requirement accepts: ${facts.blunders.join(', ')}.`,
    );
  if (facts.untested > 0)
    remarks.push(`${plural(facts.untested, 'more check point')} could not be compared with the cloud.`);
  if (facts.target !== null && facts.tested && facts.tested.mean > MEAN_SHARE * facts.target)
    remarks.push(
      `The mean error, ${length(facts.tested.mean)}, is more than a quarter of the RMSE aimed at: its cause is to be found.`,
    );
  if (facts.vegetated && facts.vegetated.points < asked.vegetated)
    remarks.push(
      `${plural(facts.vegetated.points, 'check point')} in vegetation where ${asked.vegetated} ${asked.vegetated === 1 ? 'is' : 'are'} required (${table.title}).`,
    );
  const counts: MarkedSource = {
    what: 'number of check points',
    source: `${table.title}; ${table.source}`,
    mark: table.mark,
  };
  return {
    count,
    spread,
    tooFew,
    departures,
    remarks,
    sources: [counts, INDEPENDENT_SOURCE, SPREAD_SOURCE, CLOSER_SOURCE],
  };
}

function spreadOfPoints({ spread, layout }: AccuracyFacts): AccuracyStatement['spread'] {
  if (spread === null || spread.n === 0)
    return { leastShare: null, askedShare: QUARTER_SHARE, spacing: null, askedSpacing: null, met: null };
  const { leastShare, spacing, diagonal, n } = spread;
  const closer = Math.sqrt(SPACED_POINTS / Math.max(SPACED_POINTS, n));
  const askedSpacing = layout === 'corridor' ? null : SPACING_SHARE * diagonal * closer;
  const apart = askedSpacing === null || (spacing !== null && spacing >= askedSpacing);
  return {
    leastShare,
    askedShare: QUARTER_SHARE,
    spacing,
    askedSpacing,
    // A share of exactly a fifth may fall short by a unit of rounding.
    met: leastShare >= QUARTER_SHARE - 1e-12 && apart,
  };
}

/** Too few check points, in a sentence; none at all is not a number of points that were tested. */
function fewerThan(found: number, needed: number, table: string): string {
  const required = `where ${needed} ${needed === 1 ? 'is' : 'are'} required (${table}).`;
  return found === 0 ? `No check point was tested ${required}` : `${plural(found, 'check point')} ${required}`;
}

function spreadDeparture(
  { leastShare, askedShare, spacing, askedSpacing }: AccuracyStatement['spread'],
  points: number,
): string {
  if (points === 1) return 'The check points are not distributed as required: there is only one.';
  const parts: string[] = [];
  if (leastShare !== null && leastShare < askedShare - 1e-12)
    parts.push(`one quarter of the area holds ${percent(leastShare)} of them (${percent(askedShare)} required)`);
  if (askedSpacing !== null && (spacing === null || spacing < askedSpacing))
    parts.push(
      spacing === null
        ? 'their spacing is not known'
        : `two of them are ${length(spacing)} apart (${length(askedSpacing)} required)`,
    );
  return `The check points are not distributed as required: ${parts.join('; ')}.`;
}

function judgeSurvey(facts: AccuracyFacts, rules: PointRules, departures: string[], remarks: string[]): void {
  const { tested, aspect, target } = facts;
  if (tested === null) return;
  const survey = surveyOf(tested, aspect);
  if (survey === null) {
    const unknown = 'The accuracy of the check point survey is not stated for every point, so';
    if (rules.addsSurvey) departures.push(`${unknown} it could not be added to the RMSE.`);
    else if (rules.surveyFactor !== null)
      departures.push(`${unknown} that it is ${rules.surveyFactor} times as good as the class cannot be shown.`);
    else remarks.push(`${unknown} that it is better than what it tests rests on trust.`);
    return;
  }
  if (rules.surveyFactor !== null && target !== null && survey * rules.surveyFactor > target)
    departures.push(
      `The check points were surveyed to ${length(survey)} only; ${length(target / rules.surveyFactor)} is required.`,
    );
}

/** Accuracy of the survey in the components that are tested; null unless known. */
export function surveyOf({ surveyH, surveyV }: TestedPoints, aspect: Aspect): number | null {
  if (aspect === 'vertical') return surveyV;
  if (aspect === 'horizontal') return surveyH;
  return surveyH === null || surveyV === null ? null : Math.hypot(surveyH, surveyV);
}

/** Centimetres as statements print them: two decimals, none where they are zeros. */
export function centimetres(metres: number): string {
  return String(Number((metres * 100).toFixed(2)));
}

/** Feet are a third of a metre, give or take: the international and the US survey foot differ in the sixth digit only. */
const FOOT = 0.3048;

/**
 * A length in the unit of the cloud's coordinates with as many decimals as they have, as NSSDA (3.2.3) prescribes; `metres`
 * where the coordinates are in some other unit than metres or feet.
 */
export function inDataUnit(value: number, { metres, decimals }: AccuracyFacts['unit']): string {
  const feet = Math.abs(metres - FOOT) < 1e-5;
  return feet ? `${(value / metres).toFixed(decimals)} feet` : `${value.toFixed(metres === 1 ? decimals : 3)} meters`;
}
