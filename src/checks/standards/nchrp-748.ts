import { accuracyInSpaceAt95 } from '../../geometry/accuracy.js';
import { conditionsOf, inDataUnit } from './conditions.js';
import { pointCountTables } from './point-count-tables.js';
import type { AccuracyFacts, AccuracyStandard, AccuracyStatement, MarkedSource } from './standard.js';

/** Accuracy levels: network accuracy in space at 95 % confidence, metres (from memory of the report). */
const LEVELS = [
  { level: '1 (high)', below: 0.05, words: 'under 0.05 m' },
  { level: '2 (medium)', below: 0.2, words: '0.05 to 0.20 m' },
  { level: '3 (low)', below: Number.POSITIVE_INFINITY, words: 'over 0.20 m' },
] as const;

const SOURCES: MarkedSource[] = [
  {
    what: 'levels 1, 2, 3: under 0.05 m, to 0.20 m, above, in space at 95 % confidence',
    source: 'NCHRP Report 748 (2013), data collection categories',
    mark: 'memory',
  },
  {
    what: 'network accuracy: uncertainty against the datum at 95 % confidence',
    source: 'guidelines of NCHRP 15-44, chapter 12.1.1, after FGDC-STD-007',
    mark: 'read',
  },
  {
    what: '95 % in space: RMSE_3D x sqrt(chi-square(0.95, v) / v) with v degrees of freedom of the three axes; 1.9600 for one, 1.7308 for two, 1.6140 for three equal ones',
    source: 'chi-square distribution, degrees of freedom after Satterthwaite',
    mark: 'computed',
  },
  { what: 'wording: ours', source: 'own words', mark: 'computed' },
];

/**
 * Accuracy levels of mobile lidar after NCHRP Report 748: the number of a category such as 1A; its letter is the density,
 * another requirement.
 */
export const nchrp748 = {
  id: 'nchrp-748',
  title: 'NCHRP Report 748, mobile lidar data collection categories',
  aspects: ['space'],
  addsSurvey: false,

  statement(facts: AccuracyFacts): AccuracyStatement {
    const rules = { table: pointCountTables['nssda-1998'], surveyFactor: null, addsSurvey: false };
    const { tooFew, departures, remarks, sources, ...points } = conditionsOf(facts, rules);
    const { tested } = facts;
    const at95 = tested && accuracyInSpaceAt95([tested.rmseX!, tested.rmseY!, tested.rmseZ!]);
    const reached = at95 === null ? null : LEVELS.find(({ below }) => at95 < below)!;
    const against = [...tooFew, ...departures];
    const claimed = reached !== null && against.length === 0;
    remarks.push(
      'The letter of a category is its density: A above 100, B 30 to 100, C under 30 points per square metre (from memory).',
    );
    const value =
      at95 === null
        ? 'Places were not tested.'
        : `${inDataUnit(at95, facts.unit)} network accuracy in space at 95% confidence level`;
    const sentence = claimed
      ? `Tested ${value}: accuracy level ${reached.level}, ${reached.words}.`
      : `That an accuracy level is met is not claimed: ${against.join(' ')}${at95 === null ? '' : ` Found: ${value}.`}`;
    return {
      standard: this.id,
      title: this.title,
      ...points,
      remarks,
      sources: [...SOURCES, ...sources],
      sentence,
      claimed,
      class: reached === null ? null : `accuracy level ${reached.level}`,
      departures: against,
    };
  },
} satisfies AccuracyStandard;
