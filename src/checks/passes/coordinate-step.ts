import type { DeliveryFacts } from '../../delivery/delivery.js';

/** The coarsest step of the stored coordinates in all files, metres: what rounding adds to the noise of the points. */
export function coordinateStep({ files }: Pick<DeliveryFacts, 'files'>): number {
  let coarsest = 0;
  for (const { header, horizontalUnit, heightUnit } of files) {
    if (header === null) continue;
    header.scale.forEach((step, axis) => {
      const metres = Math.abs(step) * (axis < 2 ? horizontalUnit : heightUnit);
      if (Number.isFinite(metres)) coarsest = Math.max(coarsest, metres);
    });
  }
  return coarsest;
}
