import { type DeliveryFacts, passLabel } from '../../delivery/delivery.js';
import type { SurveyPoint } from '../../delivery/survey-points.js';
import type { SurveySample } from '../../measure/survey-samples.js';
import type { CrossSectionEvidence, HistogramEvidence, Unit } from '../contract/check.js';

/** Points of the cloud kept around a survey point for drawing it. */
export const SAMPLE_POINTS = 400;

/** The cloud around every survey point that met it, in their order. */
export function surveySections(
  points: readonly SurveyPoint[],
  samples: readonly SurveySample[],
  radius: number,
  delivery: DeliveryFacts,
): CrossSectionEvidence[] {
  return points.flatMap(({ id, x, y, z }, i) => {
    const sample = samples[i];
    if (!sample || sample.dx.length === 0) return [];
    const { passes, ...rest } = sample;
    const labels = passes.map((key) => passLabel(delivery, key));
    return [{ kind: 'section', title: id, surveyPoint: id, x, y, z, radius, passes: labels, ...rest }];
  });
}

/**
 * Differences in classes of half a standard deviation about their mean, three standard deviations to either side; the outer
 * classes are as wide as it takes to hold every value. With the normal curve of the same mean and standard deviation.
 */
export function residualHistogram(
  title: string,
  unit: Unit,
  values: readonly number[],
  { mean, std, nmad }: { mean: number; std: number; nmad: number },
): HistogramEvidence[] {
  if (values.length < 5 || !(std > 0)) return [];
  const width = std / 2;
  const reach = values.reduce((most, v) => Math.max(most, Math.ceil(Math.abs(v - mean) / width)), 6);
  const half = Math.min(reach, 20);
  const edges = Array.from({ length: 2 * half + 1 }, (_, k) => mean + (k - half) * width);
  const counts = new Array<number>(2 * half).fill(0);
  for (const v of values) {
    const at = Math.floor((v - mean) / width) + half;
    counts[Math.min(counts.length - 1, Math.max(0, at))]++;
  }
  return [{ kind: 'histogram', title, unit, edges, counts, normal: { mean, std, nmad } }];
}
