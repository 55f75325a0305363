import { type DeliveryFacts, fileAt, passLabel } from '../../delivery/delivery.js';
import type { SurveyPoint } from '../../delivery/survey-points.js';
import { zoneByName } from '../../delivery/zones.js';
import { polygonIndexOf } from '../../geometry/polygon-index.js';
import { median } from '../../geometry/statistics.js';
import { fact, type RequestOf } from '../../measure/fact-types.js';
import type { TargetFound } from '../../measure/target-fits.js';
import type { Evidence, JudgeContext, Location, SurveyPointLine } from '../contract/check.js';
import { percent, signedLength } from '../contract/wording.js';

/** Options of every check that compares places in plan. */
export interface TargetSearchOptions {
  search: number;
  minFit: number;
}

export const targetSearchSchema = {
  search: {
    type: 'number',
    exclusiveMinimum: 0,
    maximum: 5,
    default: 0.3,
    description: 'How far from its surveyed place a target is looked for in the cloud, metres.',
  },
  minFit: {
    type: 'number',
    exclusiveMinimum: 0,
    exclusiveMaximum: 1,
    default: 0.6,
    description:
      'Share of the intensity variance that the target model must explain, or the target counts as not found.',
  },
} as const;

/** Cloud points kept around a target and pass. */
const MOST_KEPT = 8192;

/** Survey points whose target the tool is to find: marked with one, and not measured by hand. */
function targetPoints(delivery: DeliveryFacts): SurveyPoint[] {
  return (delivery.surveyPoints ?? []).filter(({ target, cloudX }) => target !== null && cloudX === null);
}

/** The request for the targets in the cloud; undefined when there is no target to find. */
export function targetsRequest(
  { search, minFit }: TargetSearchOptions,
  delivery: DeliveryFacts,
): RequestOf<'target-fits'> | undefined {
  const targets = targetPoints(delivery).map(({ x, y, z, target, targetSize }) => ({
    x,
    y,
    z,
    kind: target!,
    size: targetSize!,
  }));
  if (targets.length === 0) return undefined;
  return fact('target-fits', { targets, search, minFit, most: MOST_KEPT });
}

/** A survey point against the cloud in plan and, where it is known, in height. Cloud minus survey, metres. */
export interface HorizontalResidual {
  point: SurveyPoint;
  /** Null where the place in the cloud is not known. */
  dx: number | null;
  dy: number | null;
  dz: number | null;
  how: 'manual' | 'target' | 'none';
  /** The target as found or refused. */
  target: TargetFound | null;
  /** A check point inside the zone. */
  judged: boolean;
  blunder: boolean;
}

/** Differences of all survey points, in their order. */
export function horizontalResiduals(
  found: readonly TargetFound[],
  zoneName: string | undefined,
  { delivery }: JudgeContext,
) {
  const targets = new Map(targetPoints(delivery).map((point, i) => [point.id, found[i] ?? null]));
  const zone = zoneName === undefined ? null : zoneByName(delivery, zoneName);
  return (delivery.surveyPoints ?? []).map((point): HorizontalResidual => {
    const inside = zone === null || polygonIndexOf(zone.polygons).holds(point.x, point.y);
    const judged = point.role === 'check' && inside;
    const target = targets.get(point.id) ?? null;
    const base = { point, target, judged, blunder: false };
    if (point.cloudX !== null && point.cloudY !== null) {
      const dz = point.cloudZ === null ? null : point.cloudZ - point.z;
      return { ...base, dx: point.cloudX - point.x, dy: point.cloudY - point.y, dz, how: 'manual' };
    }
    if (target !== null) return { ...base, dx: target.dx, dy: target.dy, dz: target.dz, how: 'target' };
    return { ...base, dx: null, dy: null, dz: null, how: 'none' };
  });
}

/**
 * Marks points off in a component by more than the limit, both from zero and from the median of all: an offset of the
 * whole cloud makes no single point a blunder. `limits` in metres, one a component.
 */
export function markHorizontalBlunders(
  tested: readonly HorizontalResidual[],
  limits: { dx: number; dy: number; dz?: number },
): HorizontalResidual[] {
  if (tested.length === 0) return [];
  for (const axis of ['dx', 'dy', 'dz'] as const) {
    const limit = limits[axis];
    if (limit === undefined) continue;
    const middle = median(tested.map((r) => r[axis]!));
    for (const r of tested) if (Math.abs(r[axis]!) > limit && Math.abs(r[axis]! - middle) > limit) r.blunder = true;
  }
  return tested.filter((r) => r.blunder);
}

/** Lines of the report's own table of survey points. */
export function horizontalLine(r: HorizontalResidual, context: JudgeContext): SurveyPointLine {
  const { id, role, x, y, z } = r.point;
  const perPass = r.target?.perPass ?? [];
  return {
    id,
    role,
    x,
    y,
    z,
    dz: r.dz,
    dx: r.dx,
    dy: r.dy,
    ...(r.how === 'target' && r.target!.xStd !== null ? { dxStd: r.target!.xStd, dyStd: r.target!.yStd! } : {}),
    n: r.target?.found ?? 0,
    method: r.how === 'target' ? `target, ${r.point.target}` : r.how,
    perPass: perPass.map(({ pass, n }) => ({ pass: passLabel(context.delivery, pass), dz: null, n })),
    status: r.blunder ? 'blunder' : r.dx !== null ? 'used' : r.how === 'target' ? 'no-target' : 'no-data',
  };
}

/** A survey point as a place to look at; the value is its distance in plan. */
export function horizontalPlace(r: HorizontalResidual, note: string, { delivery }: JudgeContext): Location {
  const { id, x, y, z } = r.point;
  const file = fileAt(delivery, x, y);
  const value = r.dx === null || r.dy === null ? null : Math.hypot(r.dx, r.dy);
  return { x, y, z, ...(file ? { file } : {}), value, unit: 'm', note: `${id}: ${note}`, crossSectionRadius: 1 };
}

/** Differences in words: "+12.0 mm east, -3.0 mm north". */
export function horizontalWords({ dx, dy }: HorizontalResidual): string {
  return `${signedLength(dx!)} east, ${signedLength(dy!)} north`;
}

/** The targets as they were found in the cloud, or why they were refused; nothing when there are none. */
export function targetTable(residuals: readonly HorizontalResidual[]): Evidence[] {
  const rows = residuals.filter((r) => r.target !== null);
  if (rows.length === 0) return [];
  return [
    {
      kind: 'table',
      title: 'Targets found in the cloud',
      columns: [
        { key: 'id', title: 'point' },
        { key: 'kind', title: 'target' },
        { key: 'size', title: 'size', unit: 'm' },
        { key: 'dx', title: 'east', unit: 'm' },
        { key: 'dy', title: 'north', unit: 'm' },
        { key: 'xStd', title: 'standard deviation east', unit: 'm' },
        { key: 'yStd', title: 'standard deviation north', unit: 'm' },
        { key: 'missing', title: 'paint missing', unit: 'share' },
        { key: 'fit', title: 'brightness explained', unit: 'share' },
        { key: 'angle', title: 'turn', unit: 'degree' },
        { key: 'used', title: 'cloud points', unit: 'count' },
        { key: 'reason', title: 'why it was refused' },
      ],
      rows: rows.map(({ point, target }) => [
        point.id,
        point.target!,
        point.targetSize!,
        target!.dx,
        target!.dy,
        target!.xStd,
        target!.yStd,
        target!.missing,
        target!.fit,
        target!.angle,
        target!.used,
        target!.reason ?? '',
      ]),
    },
  ];
}

/** What to do about worn targets; nothing where none is worn. */
export function wornAdvice(residuals: readonly HorizontalResidual[]): string[] {
  const worn = residuals.filter(({ target }) => (target?.missing ?? 0) > 0);
  if (worn.length === 0) return [];
  const names = worn.map(({ point, target }) => `${point.id}: ${percent(target!.missing!)} missing`).join(', ');
  return [
    `Repaint ${worn.length === 1 ? 'the worn target' : `the ${worn.length} worn targets`} (${names}): the place was found from the paint that is left, with a larger standard deviation.`,
  ];
}
