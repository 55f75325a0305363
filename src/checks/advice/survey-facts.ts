import type { DeliveryFacts } from '../../delivery/delivery.js';
import { median, rmse } from '../../geometry/statistics.js';
import type { BlunderFacts, PlacementFacts } from './rule.js';

/** Facts about points that stand out. Differences in metres; in plan or space their lengths. */
export function blunderFacts(
  blunders: readonly { id: string; difference: number }[],
  others: readonly { difference: number }[],
): BlunderFacts {
  const rest = others.map((o) => o.difference);
  const middle = rest.length > 0 ? median(rest) : 0;
  return {
    blunders: blunders.map(({ id, difference }) => ({ id, size: Math.abs(difference) })),
    others: rest.length,
    spread: rest.length > 0 ? rmse(rest.map((d) => d - middle)) : 0,
  };
}

/** Where points and cloud lie, by the headers of the files that could be read; null without either. */
export function placementFacts(
  points: readonly { x: number; y: number }[],
  { files }: Pick<DeliveryFacts, 'files'>,
): PlacementFacts | null {
  const boxes = files.flatMap(({ header, horizontalUnit }) =>
    header && header.pointCount > 0
      ? [[header.min[0], header.min[1], header.max[0], header.max[1]].map((v) => v * horizontalUnit)]
      : [],
  );
  if (points.length === 0 || boxes.length === 0) return null;
  const least = (values: number[]) => values.reduce((a, b) => Math.min(a, b));
  const most = (values: number[]) => values.reduce((a, b) => Math.max(a, b));
  const [xs, ys] = [points.map((p) => p.x), points.map((p) => p.y)];
  return {
    points: points.length,
    surveyed: [least(xs), least(ys), most(xs), most(ys)],
    cloud: [
      least(boxes.map((b) => b[0])),
      least(boxes.map((b) => b[1])),
      most(boxes.map((b) => b[2])),
      most(boxes.map((b) => b[3])),
    ],
  };
}
