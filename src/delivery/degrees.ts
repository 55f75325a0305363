import { Fault } from '../fault.js';

/** Extent below which coordinates are assumed to be degrees; surveys in metres are more than 2 m wide. */
const MAX_DEGREE_EXTENT = 2;
/** 0.001 degree is 111 m: coordinates in degrees that are worth measuring have more decimals than three. */
const MIN_DECIMALS = 4;

/**
 * Whether coordinates are probably longitudes and latitudes rather than coordinates of a projected or local system: all
 * are within the range of degrees, all are within 2 units of each other, and some have four decimals or more. Coordinates
 * of a local system near its origin do not match, because they spread over more than 2 m.
 */
export function looksLikeDegrees(xs: ArrayLike<number>, ys: ArrayLike<number>): boolean {
  if (xs.length === 0) return false;
  let decimals = 0;
  let [minX, maxX] = [xs[0], xs[0]];
  let [minY, maxY] = [ys[0], ys[0]];
  for (let i = 0; i < xs.length; i++) {
    // Either may be the latitude: the order is often swapped.
    if (Math.abs(xs[i]) > 180 || Math.abs(ys[i]) > 180) return false;
    minX = Math.min(minX, xs[i]);
    maxX = Math.max(maxX, xs[i]);
    minY = Math.min(minY, ys[i]);
    maxY = Math.max(maxY, ys[i]);
    decimals = Math.max(decimals, decimalsOf(xs[i]), decimalsOf(ys[i]));
  }
  return decimals >= MIN_DECIMALS && maxX - minX < MAX_DEGREE_EXTENT && maxY - minY < MAX_DEGREE_EXTENT;
}

function decimalsOf(value: number): number {
  const text = String(value);
  const point = text.indexOf('.');
  return point < 0 ? 0 : text.length - point - 1;
}

/** Advice for a file whose coordinates are degrees. */
export const DEGREES_ADVICE = 'Transform them to the projected coordinate system of the cloud first';

/** Refuses coordinates that are probably longitudes and latitudes. @throws Fault `degrees` */
export function refuseDegrees(xs: readonly number[], ys: readonly number[], where: string): void {
  if (!looksLikeDegrees(xs, ys)) return;
  throw new Fault({
    code: 'degrees',
    what: 'the coordinates look like longitude and latitude',
    where,
    found: `${xs[0]}, ${ys[0]}`,
    advice: DEGREES_ADVICE,
  });
}
