import { combineQuadrature, continuousClass } from '../../geometry/accuracy.js';
import { plural } from '../contract/wording.js';
import { centimetres, conditionsOf, surveyOf } from './conditions.js';
import { pointCountTables } from './point-count-tables.js';
import type {
  AccuracyFacts,
  AccuracyStandard,
  AccuracyStatement,
  Aspect,
  MarkedSource,
  TestedPoints,
} from './standard.js';

const NAME = 'ASPRS Positional Accuracy Standards for Digital Geospatial Data, Edition 2 (2023)';

const CLASSES: Record<Aspect, { symbol: string; name: string; found: string; untested: string }> = {
  vertical: { symbol: 'RMSE_V', name: 'Vertical Accuracy Class', found: 'NVA accuracy', untested: 'NVA' },
  horizontal: {
    symbol: 'RMSE_H',
    name: 'Horizontal Positional Accuracy Class',
    found: 'The tested horizontal positional accuracy',
    untested: 'horizontal positional accuracy',
  },
  space: {
    symbol: 'RMSE_3D',
    name: 'Three-Dimensional Positional Accuracy Class',
    found: 'The tested three-dimensional accuracy',
    untested: 'three-dimensional positional accuracy',
  },
};

const SOURCES: MarkedSource[] = [
  {
    what: 'RMSE_H, RMSE_V, RMSE_3D; class "N cm" for an RMSE of at most N cm; VVA reported without a limit',
    source: 'ASPRS Edition 2, 7.3 to 7.5',
    mark: 'read-T',
  },
  {
    what: 'accuracy of the check point survey added in quadrature',
    source: 'ASPRS Edition 2, 7.11, as an open calculator and a handbook describe it',
    mark: 'read-S',
  },
  { what: 'check points twice as accurate as the class', source: 'ASPRS Edition 2, 7.12', mark: 'read-T' },
  { what: 'mean within 25 % of the RMSE aimed at', source: 'ASPRS Edition 2, 7.2', mark: 'read-T' },
  {
    what: 'wording for heights, and the opening of the wording for too few check points',
    source: 'ASPRS Edition 2, 7.15, quoted by an open handbook and an open form',
    mark: 'read-S',
  },
  { what: 'the rest of the wording', source: 'ASPRS Edition 2, 7.15', mark: 'memory' },
];

/**
 * ASPRS Positional Accuracy Standards, Edition 2 (2023): RMSE only, the accuracy of the check point survey added in
 * quadrature (7.11), classes of any size, a sentence of its own for too few check points (7.13).
 */
export const asprs2023 = {
  id: 'asprs-2023',
  title: NAME,
  aspects: ['vertical', 'horizontal', 'space'],
  addsSurvey: true,

  statement(facts: AccuracyFacts): AccuracyStatement {
    const rules = { table: pointCountTables['asprs-2023-adopted'], surveyFactor: 2, addsSurvey: true };
    const { tooFew, departures, remarks, sources, ...points } = conditionsOf(facts, rules);
    const { tested, target, vegetated, aspect } = facts;
    const { symbol, name, found: subject, untested } = CLASSES[aspect];
    const vva = vegetated ? rmseOf(vegetated, 'vertical') : null;
    if (aspect === 'vertical' && vegetated === null) remarks.push('No check point in vegetation: VVA was not tested.');
    if (vegetated && vegetated.surveyV === null)
      remarks.push('VVA is without the accuracy of the survey, which is not stated for every point in vegetation.');
    const base = { standard: this.id, title: NAME, ...points, remarks, sources: [...SOURCES, ...sources] };
    const vegetatedValue = vva === null ? '' : ` VVA accuracy was found to be RMSE_V = ${centimetres(vva)} cm.`;
    if (tested === null) {
      const sentence = [`This data set was not tested for ${untested}.${vegetatedValue}`, ...departures].join(' ');
      return { ...base, sentence, claimed: false, class: null, departures: [...tooFew, ...departures] };
    }
    const found = rmseOf(tested, aspect);
    const aim = target === null ? null : `${centimetres(target)} cm ${symbol} ${name}`;
    const exceeds = target !== null && found > target;
    const against = [
      ...(exceeds ? [`${symbol} = ${centimetres(found)} cm exceeds the class of ${centimetres(target)} cm.`] : []),
      ...tooFew,
      ...departures,
    ];
    const claimed = aim !== null && against.length === 0;
    const few = tooFew.length > 0;
    const values = `${subject} was found to be ${symbol} = ${centimetres(found)} cm${few ? ' using the reduced number of checkpoints' : ''}.${vegetatedValue}`;
    const opening = claimed
      ? `This data set was tested to meet ${NAME} for a ${aim}.`
      : [
          `This data set was tested as required by ${NAME}.`,
          few ? fewPoints(points.count) : '',
          aim === null ? '' : exceeds ? `It does not meet a ${aim}.` : `That it meets a ${aim} is not claimed.`,
        ]
          .filter((part) => part !== '')
          .join(' ');
    return {
      ...base,
      sentence: [opening, values, ...departures].join(' '),
      claimed,
      class: `${continuousClass(found)} cm ${symbol} ${name}`,
      departures: against,
    };
  },
} satisfies AccuracyStandard;

function fewPoints({ asked, found }: AccuracyStatement['count']): string {
  const least = asked === 30 ? 'thirty (30) checkpoints' : plural(asked, 'checkpoint');
  return `Although the Standards call for a minimum of ${least}, this test was performed using ONLY ${plural(found, 'checkpoint')}.`;
}

/** RMSE with the accuracy of the survey where that is known, metres. */
function rmseOf(tested: TestedPoints, aspect: Aspect): number {
  const plan = [tested.rmseX ?? 0, tested.rmseY ?? 0];
  const parts = aspect === 'vertical' ? [] : plan;
  if (aspect !== 'horizontal') parts.push(tested.rmseZ ?? 0);
  return combineQuadrature(...parts, surveyOf(tested, aspect) ?? 0);
}
