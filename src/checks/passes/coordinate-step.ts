import type { DeliveredFile, DeliveryFacts } from '../../delivery/delivery.js';

/** The coarsest step of the stored coordinates in all files, metres: what rounding adds to the noise of the points. */
export function coordinateStep({ files }: Pick<DeliveryFacts, 'files'>): number {
  let coarsest = 0;
  for (const file of files)
    for (const metres of scalesOf(file)) if (Number.isFinite(metres)) coarsest = Math.max(coarsest, metres);
  return coarsest;
}

/**
 * The scales of x, y and z in the header of a file, metres, without their signs; none when the header could not be read. An
 * unusable scale (zero, infinite, not a number) is returned as it is.
 */
export function scalesOf({ header, horizontalUnit, heightUnit }: DeliveredFile): number[] {
  return (header?.scale ?? []).map((scale, axis) => Math.abs(scale) * (axis < 2 ? horizontalUnit : heightUnit));
}
