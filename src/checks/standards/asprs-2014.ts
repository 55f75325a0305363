import { NSSDA_VERTICAL, nssdaHorizontal, nssdaVertical, smallestClassMet } from '../../geometry/accuracy.js';
import { centimetres, conditionsOf } from './conditions.js';
import { pointCountTables } from './point-count-tables.js';
import type { AccuracyFacts, AccuracyStandard, AccuracyStatement, MarkedSource } from './standard.js';

const NAME = 'ASPRS Positional Accuracy Standards for Digital Geospatial Data (2014)';
/** VVA at the 95th percentile may be this many times the class of the open ground. */
const VEGETATED_FACTOR = 3;

const SOURCES: MarkedSource[] = [
  {
    what: 'NVA at 95 % is 1.96 RMSEz; VVA at the 95th percentile within 3 times the class',
    source: 'ASPRS Edition 1 (2014), as an open handbook describes it',
    mark: 'read-S',
  },
  {
    what: 'class of plan is the RMSE of either axis; ten named classes from 1 to 333.3 cm',
    source: 'ASPRS Edition 1 (2014), 7.8 and 7.9, Annex B',
    mark: 'memory',
  },
  {
    what: '95 % in plan: 2.4477 x 0.5 x (RMSEx + RMSEy), none when the axes differ too much',
    source: 'FGDC-STD-007.3-1998, 3-A.1',
    mark: 'read-T',
  },
  { what: 'check points three times as accurate as the class', source: 'draft of ASPRS Edition 1', mark: 'read-S' },
  { what: 'wording', source: 'ASPRS Edition 1 (2014), 7.13', mark: 'memory' },
];

/**
 * ASPRS Positional Accuracy Standards, Edition 1 (2014): RMSE by axis and its equivalent at 95 % confidence; the accuracy of
 * the survey is not added. A class of plan limits RMSEx and RMSEy, so an RMSE_H aimed at is divided by the root of two.
 */
export const asprs2014 = {
  id: 'asprs-2014',
  title: `${NAME}, Edition 1`,
  aspects: ['vertical', 'horizontal'],
  addsSurvey: false,

  statement(facts: AccuracyFacts): AccuracyStatement {
    const rules = { table: pointCountTables['asprs-2014'], surveyFactor: 3, addsSurvey: false };
    const { tooFew, departures, remarks, sources, ...points } = conditionsOf(facts, rules);
    const values = facts.aspect === 'vertical' ? heights(facts, remarks) : places(facts);
    const against = [...values.exceeds, ...tooFew, ...departures];
    const claimed = values.aim !== null && facts.tested !== null && against.length === 0;
    const opening = claimed
      ? `This data set was tested to meet ${NAME} for a ${values.aim}.`
      : [
          `This data set was ${facts.tested === null && facts.vegetated === null ? 'not ' : ''}tested against ${NAME}.`,
          values.aim === null
            ? ''
            : values.exceeds.length > 0
              ? `It does not meet a ${values.aim}.`
              : `That it meets a ${values.aim} is not claimed.`,
          ...tooFew,
          ...departures,
        ]
          .filter((part) => part !== '')
          .join(' ');
    return {
      standard: this.id,
      title: this.title,
      ...points,
      remarks,
      sources: [...SOURCES, ...sources],
      sentence: `${opening} ${values.found}`,
      claimed,
      class: values.class,
      departures: against,
    };
  },
} satisfies AccuracyStandard;

interface Values {
  aim: string | null;
  exceeds: string[];
  found: string;
  class: string | null;
}

function heights({ target, tested, vegetated }: AccuracyFacts, remarks: string[]): Values {
  const name = 'RMSEz Vertical Accuracy Class';
  const exceeds: string[] = [];
  const found: string[] = [];
  let rmseZ: number | null = null;
  if (tested) {
    rmseZ = tested.rmseZ!;
    if (target !== null && rmseZ > target)
      exceeds.push(`RMSEz = ${centimetres(rmseZ)} cm exceeds the class of ${centimetres(target)} cm.`);
    found.push(
      `Actual NVA accuracy was found to be RMSEz = ${centimetres(rmseZ)} cm, equating to +/- ${centimetres(nssdaVertical(rmseZ))} cm at 95% confidence level.`,
    );
  } else found.push('NVA was not tested.');
  if (vegetated) {
    const most = target === null ? null : VEGETATED_FACTOR * target;
    if (most !== null && vegetated.p95 > most)
      exceeds.push(`VVA, ${centimetres(vegetated.p95)} cm, exceeds three times the class, ${centimetres(most)} cm.`);
    found.push(`Actual VVA accuracy was found to be +/- ${centimetres(vegetated.p95)} cm at the 95th percentile.`);
  } else remarks.push('No check point in vegetation: VVA was not tested.');
  const smallest = rmseZ === null ? null : smallestClassMet(Math.max(rmseZ, (vegetated?.p95 ?? 0) / VEGETATED_FACTOR));
  return {
    aim: target === null ? null : `${centimetres(target)} cm ${name}`,
    exceeds,
    found: found.join(' '),
    class:
      smallest === null
        ? null
        : `${smallest} cm ${name} (NVA at 95 % within ${centimetres((NSSDA_VERTICAL * smallest) / 100)} cm)`,
  };
}

function places({ target, tested }: AccuracyFacts): Values {
  const name = 'RMSEx / RMSEy Horizontal Accuracy Class';
  const perAxis = target === null ? null : target / Math.SQRT2;
  const aim = perAxis === null ? null : `${centimetres(perAxis)} cm ${name}`;
  if (!tested) return { aim, exceeds: [], found: 'Places were not tested.', class: null };
  const [x, y] = [tested.rmseX!, tested.rmseY!];
  const larger = Math.max(x, y);
  const at95 = nssdaHorizontal(x, y);
  const equates =
    at95 === null
      ? '; the axes differ too much for a figure at 95% confidence level'
      : ` which equates to Positional Horizontal Accuracy = +/- ${centimetres(at95)} cm at 95% confidence level`;
  const smallest = smallestClassMet(larger);
  return {
    aim,
    exceeds:
      perAxis !== null && larger > perAxis
        ? [
            `RMSE${x >= y ? 'x' : 'y'} = ${centimetres(larger)} cm exceeds the class of ${centimetres(perAxis)} cm of either axis.`,
          ]
        : [],
    found: `Actual positional accuracy was found to be RMSEx = ${centimetres(x)} cm and RMSEy = ${centimetres(y)} cm${equates}.`,
    class: smallest === null ? null : `${smallest} cm ${name}`,
  };
}
