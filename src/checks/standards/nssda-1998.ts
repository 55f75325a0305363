import { nssdaHorizontal, nssdaVertical } from '../../geometry/accuracy.js';
import { conditionsOf, inDataUnit } from './conditions.js';
import { pointCountTables } from './point-count-tables.js';
import type { AccuracyFacts, AccuracyStandard, AccuracyStatement, MarkedSource } from './standard.js';

const SOURCES: MarkedSource[] = [
  {
    what: 'horizontal: 1.7308 RMSE_r for equal axes, 2.4477 x 0.5 x (RMSEx + RMSEy) for a ratio of 0.6 to 1',
    source: 'FGDC-STD-007.3-1998, 3-A.1',
    mark: 'read-T',
  },
  { what: 'vertical: 1.9600 RMSEz', source: 'FGDC-STD-007.3-1998, 3-A.2', mark: 'read-T' },
  {
    what: 'wording "Tested ... at 95% confidence level", unit and decimals of the data',
    source: 'FGDC-STD-007.3-1998, 3.2.3',
    mark: 'read-T',
  },
  {
    what: 'blunders and wrong coordinate systems are corrected before anything is computed',
    source: 'FGDC-STD-007.3-1998, 3.2.2',
    mark: 'read-T',
  },
];

/**
 * National Standard for Spatial Data Accuracy, FGDC-STD-007.3-1998: accuracy at 95 % confidence from the RMSE. It has no
 * classes: what is good enough is left to the product specification.
 */
export const nssda1998 = {
  id: 'nssda-1998',
  title: 'National Standard for Spatial Data Accuracy (FGDC-STD-007.3-1998)',
  aspects: ['vertical', 'horizontal'],
  addsSurvey: false,

  statement(facts: AccuracyFacts): AccuracyStatement {
    const rules = { table: pointCountTables['nssda-1998'], surveyFactor: null, addsSurvey: false };
    const { tooFew, departures, remarks, sources, ...points } = conditionsOf(facts, rules);
    const accuracy = accuracyOf(facts);
    const kind = `${facts.aspect === 'vertical' ? 'vertical' : 'horizontal'} accuracy at 95% confidence level`;
    const undefinedHere =
      facts.tested !== null && accuracy === null
        ? ['RMSEx and RMSEy differ by more than 0.6 to 1: the standard has no formula for a horizontal accuracy then.']
        : [];
    const against = [...undefinedHere, ...tooFew, ...departures];
    const claimed = accuracy !== null && against.length === 0;
    const sentence = claimed
      ? `Tested ${inDataUnit(accuracy, facts.unit)} ${kind}.`
      : `Not a tested accuracy under the standard: ${against.join(' ')}${accuracy === null ? '' : ` By its formula: ${inDataUnit(accuracy, facts.unit)} ${kind}.`}`;
    return {
      standard: this.id,
      title: this.title,
      ...points,
      remarks,
      sources: [...SOURCES, ...sources],
      sentence,
      claimed,
      class: null,
      departures: against,
    };
  },
} satisfies AccuracyStandard;

function accuracyOf({ aspect, tested }: AccuracyFacts): number | null {
  if (tested === null) return null;
  return aspect === 'vertical' ? nssdaVertical(tested.rmseZ!) : nssdaHorizontal(tested.rmseX!, tested.rmseY!);
}
