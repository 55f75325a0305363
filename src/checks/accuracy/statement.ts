import { unitFile } from '../../delivery/agreed-system.js';
import type { SurveyPoint } from '../../delivery/survey-points.js';
import { zoneByName } from '../../delivery/zones.js';
import { spreadOf } from '../../geometry/point-spread.js';
import { polygonArea } from '../../geometry/polygon.js';
import { mean, percentile, rmse } from '../../geometry/statistics.js';
import type { JudgeContext } from '../contract/check.js';
import { plural } from '../contract/wording.js';
import { pointCountTables } from '../standards/point-count-tables.js';
import { standardById } from '../standards/registry.js';
import type { AccuracyStatement, Aspect, TestedPoints } from '../standards/standard.js';
import type { AccuracyOptions } from './options.js';
import { surveyArea } from './survey-area.js';
import { findDoubles, surveyAccuracy, USUAL_SEPARATION } from './survey-quality.js';

/** A check point with its differences, cloud minus survey, metres; null for a component that was not compared. */
interface Difference {
  point: SurveyPoint;
  dx?: number | null;
  dy?: number | null;
  dz: number | null;
}

/** Which check points carry a statement. */
export interface StatedPoints {
  /** Points on open ground for heights, all that were compared otherwise; blunders left out. */
  tested: readonly Difference[];
  /** For heights: those in vegetation, none left out. */
  vegetated: readonly Difference[];
  blunders: readonly Difference[];
  blundersAccepted: number;
  /** Check points that could not be compared. */
  untested: number;
  /** RMSE aimed at, metres. */
  target: number | null;
}

/** The accuracy as the standard named in a requirement has it stated; an empty object where none is named. */
export function statementFor(
  aspect: Aspect,
  { standard, pointTable, layout, zone }: AccuracyOptions & { zone?: string },
  { tested, vegetated, blunders, blundersAccepted, untested, target }: StatedPoints,
  context: JudgeContext,
): { statement?: AccuracyStatement } {
  const named = standardById(standard);
  if (named === null) return {};
  const box = surveyArea(zone, context);
  const statedPoints = (tested.length > 0 ? tested : vegetated).map(({ point }) => point);
  const spread =
    box &&
    spreadOf(
      statedPoints.map(({ x }) => x),
      statedPoints.map(({ y }) => y),
      box,
      layout,
    );
  return {
    statement: named.statement({
      aspect,
      unit: unitOf(aspect, context),
      target,
      tested: testedPoints(aspect, tested),
      vegetated: testedPoints('vertical', vegetated),
      doubles: findDoubles(statedPoints, context.delivery.surveyPoints ?? [], USUAL_SEPARATION).map(
        ({ words }) => words,
      ),
      blunders: blunders.map(({ point }) => point.id),
      blundersAccepted,
      untested,
      incomplete: incompleteness(context),
      area: areaOf(zone, context),
      spread,
      layout,
      table: pointTable === undefined ? null : pointCountTables[pointTable],
    }),
  };
}

/** Unit and decimals of the coordinates that were tested, as the files in the coordinate system of the delivery have them; metres to the millimetre where none is. */
function unitOf(aspect: Aspect, { delivery }: JudgeContext): { metres: number; decimals: number } {
  const file = unitFile(delivery.files, delivery.declaredCrs);
  if (!file?.header) return { metres: 1, decimals: 3 };
  const scale = file.header.scale[aspect === 'vertical' ? 2 : 0];
  // 0.001 gives 3 decimals and 0.0005 gives 4; never none or more than a tenth of a millimetre.
  const decimals = scale > 0 ? Math.ceil(-Math.log10(scale) - 1e-9) : 3;
  return {
    metres: aspect === 'vertical' ? file.heightUnit : file.horizontalUnit,
    decimals: Math.min(4, Math.max(1, decimals)),
  };
}

/** Why less than the whole delivery was looked at. */
function incompleteness({ delivery }: JudgeContext): string[] {
  const unread = delivery.files.filter(({ fault }) => fault !== null).length;
  return [
    ...(delivery.sample === null ? [] : ['Only a share of the points was read: this is a quick look, not a test.']),
    ...(unread === 0 ? [] : [`${plural(unread, 'file')} could not be fully read.`]),
  ];
}

/** Whether the standard named adds the accuracy of the survey to the RMSE; without a standard it is added (ASPRS Edition 2, 7.11). */
export function addsSurvey({ standard }: AccuracyOptions): boolean {
  return standardById(standard)?.addsSurvey ?? true;
}

function testedPoints(aspect: Aspect, differences: readonly Difference[]): TestedPoints | null {
  if (differences.length === 0) return null;
  const dx = aspect === 'vertical' ? [] : differences.map((d) => d.dx!);
  const dy = aspect === 'vertical' ? [] : differences.map((d) => d.dy!);
  const dz = aspect === 'horizontal' ? [] : differences.map((d) => d.dz!);
  const components = [dx, dy, dz].filter((values) => values.length > 0);
  const lengths = differences.map((_, i) => Math.hypot(...components.map((values) => values[i])));
  const survey = surveyAccuracy(differences.map(({ point }) => point));
  return {
    points: differences.length,
    rmseX: dx.length > 0 ? rmse(dx) : null,
    rmseY: dy.length > 0 ? rmse(dy) : null,
    rmseZ: dz.length > 0 ? rmse(dz) : null,
    mean: Math.max(...components.map((values) => Math.abs(mean(values)))),
    p95: percentile(lengths, 95),
    surveyH: survey.horizontal,
    surveyV: survey.vertical,
  };
}

/** Area that the check points represent, square metres: that of the zone, else the tiles together, never more than the rectangle round them. */
function areaOf(zoneName: string | undefined, context: JudgeContext): number | null {
  const { delivery } = context;
  if (zoneName !== undefined) {
    return zoneByName(delivery, zoneName).polygons.reduce((sum, polygon) => sum + polygonArea(polygon), 0);
  }
  const box = surveyArea(undefined, context);
  if (box === null) return null;
  let tiles = 0;
  for (const { header, horizontalUnit } of delivery.files) {
    if (header === null || header.pointCount === 0) continue;
    tiles += (header.max[0] - header.min[0]) * (header.max[1] - header.min[1]) * horizontalUnit * horizontalUnit;
  }
  return Math.min(tiles, (box[2] - box[0]) * (box[3] - box[1]));
}
