import { combineQuadrature } from '../../geometry/accuracy.js';
import { plural } from '../contract/wording.js';
import { centimetres, conditionsOf } from './conditions.js';
import { pointCountTables } from './point-count-tables.js';
import type { AccuracyFacts, AccuracyStandard, AccuracyStatement, MarkedSource } from './standard.js';

/** Largest NVA, RMSE_V in metres, of each level (USGS Lidar Base Specification 2025 rev. A, table 4; read-T). */
const LEVELS = [
  { names: 'QL0', nva: 0.05 },
  { names: 'QL1 and QL2', nva: 0.1 },
  { names: 'QL3', nva: 0.2 },
] as const;

const SOURCES: MarkedSource[] = [
  {
    what: 'NVA of QL0 5 cm, QL1 and QL2 10 cm, QL3 20 cm (RMSE_V); VVA reported without a limit',
    source: 'USGS Lidar Base Specification 2025 rev. A, tables',
    mark: 'read-T',
  },
  {
    what: 'accuracy of the check point survey part of RMSE_V',
    source: 'USGS Lidar Base Specification 2025 rev. A, glossary',
    mark: 'read-T',
  },
  {
    what: 'check points twice as accurate',
    source: 'USGS Lidar Base Specification 2025 rev. A, glossary',
    mark: 'read-T',
  },
  {
    what: 'wording: ours; the specification prescribes values, and the form of ASPRS for them',
    source: 'own words',
    mark: 'computed',
  },
];

/**
 * Quality levels of the USGS Lidar Base Specification: here the level whose height accuracy is met. Density, precision within
 * a swath and agreement of swaths belong to a level too and are other requirements.
 */
export const usgsQualityLevels = {
  id: 'usgs-quality-levels',
  title: 'USGS Lidar Base Specification 2025 rev. A, quality levels',
  aspects: ['vertical'],
  addsSurvey: true,

  statement(facts: AccuracyFacts): AccuracyStatement {
    const rules = { table: pointCountTables['asprs-2023-adopted'], surveyFactor: 2, addsSurvey: true };
    const { tooFew, departures, remarks, sources, ...points } = conditionsOf(facts, rules);
    const { tested, vegetated, target } = facts;
    const nva = tested && combineQuadrature(tested.rmseZ!, tested.surveyV ?? 0);
    const level = nva === null ? null : (LEVELS.find((l) => nva <= l.nva) ?? null);
    const exceeds: string[] = [];
    if (nva !== null && target !== null && nva > target)
      exceeds.push(`NVA RMSE_V = ${centimetres(nva)} cm exceeds ${centimetres(target)} cm.`);
    else if (nva !== null && level === null)
      exceeds.push(`NVA RMSE_V = ${centimetres(nva)} cm meets no quality level.`);
    if (vegetated === null) remarks.push('No check point in vegetation: VVA was not tested.');
    remarks.push('A quality level also asks for pulse density, precision within swaths and agreement between them.');
    const against = [...exceeds, ...tooFew, ...departures];
    const claimed = nva !== null && against.length === 0;
    const vva = vegetated && combineQuadrature(vegetated.rmseZ!, vegetated.surveyV ?? 0);
    const values = [
      nva === null ? 'NVA was not tested.' : `NVA was found to be RMSE_V = ${centimetres(nva)} cm.`,
      vva === null ? '' : `VVA was found to be RMSE_V = ${centimetres(vva)} cm.`,
    ];
    const verdict = claimed
      ? `The height accuracy of quality level ${level!.names} (NVA RMSE_V of at most ${centimetres(level!.nva)} cm) is met.`
      : `That the height accuracy of a quality level is met is not claimed: ${against.join(' ')}`;
    return {
      standard: this.id,
      title: this.title,
      ...points,
      remarks,
      sources: [...SOURCES, ...sources],
      sentence: [
        tested === null
          ? `Not tested by the USGS Lidar Base Specification 2025 rev. A on open ground.`
          : `Tested by the USGS Lidar Base Specification 2025 rev. A at ${plural(points.count.found, 'check point')} on open ground.`,
        ...values.filter((part) => part !== ''),
        verdict,
      ].join(' '),
      claimed,
      class: level === null ? null : `height accuracy of ${level.names}`,
      departures: against,
    };
  },
} satisfies AccuracyStandard;
