import { continuousClass, nssdaVertical } from '../../geometry/accuracy.js';
import { type RmsBounds, rmsBounds } from '../../geometry/rms-interval.js';
import { max, mean, median, min, nmad, percentile, rmse, standardDeviation } from '../../geometry/statistics.js';
import type { Evidence, Figure } from '../contract/check.js';
import type { PlacedValues } from '../contract/placed-values.js';
import { figure } from '../contract/wording.js';
import { intervalOf } from './decision.js';
import type { HeightResidual } from './height-residuals.js';
import type { AccuracyOptions } from './options.js';
import { addsSurvey } from './statement.js';
import { residualHistogram } from './survey-views.js';

/** The residuals drawn one by one and in classes; `limit` is the RMSE allowed, metres. */
export function heightViews(
  residuals: HeightResidual[],
  { measured, mean, std, rmse: rms }: HeightFigures,
  limit: number | null,
): Evidence[] {
  const shown = residuals.filter((r) => r.dz !== null && (r.judged || r.point.role === 'control'));
  const items = shown.map(({ point, dz, blunder, judged }) => ({
    label: point.id,
    value: dz!,
    group: judged ? (blunder ? ('blunder' as const) : ('used' as const)) : ('control' as const),
  }));
  const interval: [number, number] = [measured.rmseLow.value!, measured.rmseHigh.value!];
  const used = items.filter(({ group }) => group === 'used').map(({ value }) => value);
  return [
    { kind: 'residuals', title: 'Height residuals, cloud minus survey', unit: 'm', items, mean, rms, interval, limit },
    ...residualHistogram('Check points by height residual', 'm', used, { mean, std, nmad: measured.nmad.value! }),
  ];
}

/** Figures of the used points; lengths in metres. */
export interface HeightFigures {
  measured: Record<string, Figure>;
  mean: number;
  std: number;
  rmse: number;
  bounds: RmsBounds;
}

/** Statistics of heights: `used` without blunders, `tested` with them, out of `n` check points. */
export function describeHeights(
  used: HeightResidual[],
  tested: HeightResidual[],
  n: number,
  blunders: number,
  r: AccuracyOptions,
): HeightFigures {
  const dz = used.map((u) => u.dz!);
  const fit = rmse(dz);
  const sigmas = used.map((u) => u.point.sigmaV);
  const survey = sigmas.every((s) => s !== null) ? rmse(sigmas as number[]) : null;
  const total = survey === null || !addsSurvey(r) ? fit : Math.hypot(fit, survey);
  const bounds = rmsBounds([dz]);
  const { low, high } = intervalOf(total, bounds);
  const std = dz.length > 1 ? standardDeviation(dz) : 0;
  const middle = mean(dz);
  return {
    mean: middle,
    std,
    rmse: total,
    bounds,
    measured: {
      n: figure(n, 'count'),
      used: figure(dz.length, 'count'),
      mean: figure(middle, 'm'),
      median: figure(median(dz), 'm'),
      std: figure(dz.length > 1 ? std : null, 'm'),
      rmse: figure(total, 'm'),
      rmseLow: figure(low, 'm'),
      rmseHigh: figure(high, 'm'),
      normalErrors: figure(bounds.normalErrors, 'share'),
      nmad: figure(nmad(dz), 'm'),
      p95: figure(percentile(dz.map(Math.abs), 95), 'm'),
      min: figure(min(dz), 'm'),
      max: figure(max(dz), 'm'),
      blunders: figure(blunders, 'count'),
      class: figure(continuousClass(total) / 100, 'm'),
      rmseFit: figure(fit, 'm'),
      rmseSurvey: figure(survey, 'm'),
      rmseAll: figure(rmse(tested.map((t) => t.dz!)), 'm'),
      ...(r.maxAt95 === undefined ? {} : { at95: figure(nssdaVertical(total), 'm') }),
      ...(r.maxResidual === undefined ? {} : { largest: figure(max(tested.map((t) => Math.abs(t.dz!))), 'm') }),
    },
  };
}

/** The differences at the check points with their places, blunders among them; none where no RMSE is limited. */
export function heightsByPlace(tested: readonly HeightResidual[], limit: number | null): PlacedValues[] {
  if (limit === null) return [];
  const column = (pick: (one: HeightResidual) => number) => Float64Array.from(tested, pick);
  const places = { x: column(({ point }) => point.x), y: column(({ point }) => point.y) };
  return [
    {
      kind: 'placed-values',
      title: 'RMSE of height at check points',
      statistic: 'rms',
      unit: 'm',
      limit,
      sense: 'at-most',
      cell: 0,
      sets: [{ name: 'cloud minus survey', places, value: column(({ dz }) => dz!) }],
    },
  ];
}
