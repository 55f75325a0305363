import { type DeliveryFacts, passLabel } from '../../delivery/delivery.js';
import type { SurveyPoint } from '../../delivery/survey-points.js';
import { placesOfLargest } from '../../geometry/ranking.js';
import type { SurveySamples } from '../../measure/survey-samples.js';
import type { CrossSectionEvidence, HistogramEvidence, Unit } from '../contract/check.js';

/** Points of the cloud kept around a survey point for drawing it. */
export const SAMPLE_POINTS = 400;

/** Places in a list of places; all points are among the survey points of the report. */
const LISTED = 500;

/** The places that are listed, the largest value first where there are too many to list all, and the title that says so. */
export function listPlaces<Item>(
  title: string,
  items: readonly Item[],
  sizeOf: (item: Item) => number,
): { title: string; items: Item[] } {
  if (items.length <= LISTED) return { title, items: [...items] };
  const places = placesOfLargest(items.map(sizeOf), LISTED);
  return {
    title: `${title}: ${LISTED} of ${items.length.toLocaleString('en-GB')}`,
    items: places.map((i) => items[i]),
  };
}

/** Up to so many survey points are all drawn; of more, half of this number by size, and half spread over the area. */
export const SECTIONS_SHOWN = 60;

/** A survey point that can be drawn. */
export interface DrawnPoint {
  point: SurveyPoint;
  /** Its place in the list of survey points. */
  index: number;
  /** Size of its difference, metres; null where there is none. */
  size: number | null;
  /** Points of the cloud around it. */
  found: number;
}

/** The cloud around survey points that met it, in their order: around all of them, or of many around those chosen by `choosePoints`. */
export function surveySections(
  points: readonly DrawnPoint[],
  samples: SurveySamples,
  radius: number,
  delivery: DeliveryFacts,
): CrossSectionEvidence[] {
  return choosePoints(points.filter(({ found }) => found > 0)).flatMap(({ point: { id, x, y, z }, index }) => {
    const { passes, ...rest } = samples.at(index);
    if (rest.dx.length === 0) return [];
    const labels = passes.map((key) => passLabel(delivery, key));
    return [{ kind: 'section', title: id, surveyPoint: id, x, y, z, radius, passes: labels, ...rest }];
  });
}

/**
 * The points with the largest differences, and as many others, each as far as possible in plan from those chosen before it.
 * In the order in which they were given.
 */
export function choosePoints(points: readonly DrawnPoint[]): DrawnPoint[] {
  if (points.length <= SECTIONS_SHOWN) return [...points];
  const sizes = points.map(({ size }) => size ?? -1);
  const chosen = new Set(placesOfLargest(sizes, SECTIONS_SHOWN / 2));
  const distance = new Float64Array(points.length).fill(Number.POSITIVE_INFINITY);
  const comeNear = ({ point: { x, y } }: DrawnPoint) => {
    for (let i = 0; i < points.length; i++) {
      const d = Math.hypot(points[i].point.x - x, points[i].point.y - y);
      if (d < distance[i]) distance[i] = d;
    }
  };
  for (const i of chosen) comeNear(points[i]);
  while (chosen.size < SECTIONS_SHOWN) {
    const [farthest] = placesOfLargest(distance, 1);
    // All others are at the place of one that is chosen.
    if (!(distance[farthest] > 0)) break;
    chosen.add(farthest);
    comeNear(points[farthest]);
  }
  return [...chosen].sort((a, b) => a - b).map((i) => points[i]);
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
