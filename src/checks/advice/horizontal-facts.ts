import type { HorizontalResidual } from '../accuracy/horizontal-residuals.js';
import type { JudgeContext, LikelyCause } from '../contract/check.js';
import { likelyCauses } from './index.js';
import { blunderFacts, placementFacts } from './survey-facts.js';

/** Likely causes of differences in plan and, where heights are given, in space. `limit` is the largest RMSE, metres. */
export function horizontalCauses(
  used: readonly HorizontalResidual[],
  blunders: readonly HorizontalResidual[],
  limit: number,
): LikelyCause[] {
  const points = used.map(({ point: { id, x, y }, dx, dy }) => ({ id, x, y, dx: dx!, dy: dy! }));
  const lengthOf = ({ point, dx, dy, dz }: HorizontalResidual) => ({
    id: point.id,
    difference: Math.hypot(dx!, dy!, dz ?? 0),
  });
  return [
    ...likelyCauses('plan', { limit, points }),
    ...likelyCauses('blunders', blunderFacts(blunders.map(lengthOf), used.map(lengthOf))),
  ];
}

/** Likely causes why no check point has a place in the cloud. */
export function placementCauses(checks: readonly HorizontalResidual[], { delivery }: JudgeContext): LikelyCause[] {
  const facts = placementFacts(
    checks.map(({ point }) => point),
    delivery,
  );
  return facts ? likelyCauses('placement', facts) : [];
}
