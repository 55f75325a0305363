import type { LayerHead } from './payload.js';
import { isBeyond } from './raster.js';

/** Red, green, blue, 0 to 255. */
export type Rgb = readonly [number, number, number];

/**
 * Colours of viridis and cividis, perceptually uniform colour maps that their authors placed in the public domain. The values are
 * from memory; tests check that lightness increases evenly.
 */
const VIRIDIS = [
  '440154',
  '482475',
  '414487',
  '355f8d',
  '2a788e',
  '21918c',
  '22a884',
  '44bf70',
  '7ad151',
  'bddf26',
  'fde725',
];
const CIVIDIS = ['00224e', '123570', '3b496c', '575d6d', '707173', '8a8678', 'a59c74', 'c3b369', 'e1cc55', 'fee838'];
/** Blue below zero and orange above, from a neutral middle: distinct for all common kinds of colour vision. */
const BELOW = ['d9dde0', '9db9d6', '5b8ec4', '1f5fa8', '0c2f66'];
const ABOVE = ['d9dde0', 'e3b98c', 'd98a3d', 'b4540a', '6b2a00'];

/** The colours of a layer: the values at the ends of the scale, and the colour of a value. */
export interface Ramp {
  head: LayerHead;
  low: number;
  high: number;
  colourOf(value: number): Rgb;
}

/** The colours of a layer for a scale from `low` to `high`; a signed layer has a scale that is symmetric about zero. */
export function rampFor(head: LayerHead, low: number, high: number): Ramp {
  if (!head.signed) {
    const colours = (head.unit === 'count' ? CIVIDIS : VIRIDIS).map(fromHex);
    const span = high > low ? high - low : 1;
    return { head, low, high, colourOf: (value) => blend(colours, (value - low) / span) };
  }
  const most = Math.max(Math.abs(low), Math.abs(high)) || 1;
  const [below, above] = [BELOW.map(fromHex), ABOVE.map(fromHex)];
  return {
    head,
    low: -most,
    high: most,
    colourOf: (value) => blend(value < 0 ? below : above, strength(value, most, head)),
  };
}

/**
 * How strong the colour of a difference is, 0 (neutral) to 1. At the limit it steps from 0.45 to 0.75, so that differences
 * beyond the limit are easy to see.
 */
function strength(value: number, most: number, head: LayerHead): number {
  const size = Math.abs(value);
  if (head.limit === null || head.limit <= 0) return size / most;
  if (!isBeyond(value, head)) return (0.45 * size) / head.limit;
  return most > head.limit ? 0.75 + (0.25 * (size - head.limit)) / (most - head.limit) : 1;
}

/** Colour at a share from 0 to 1 of a list of evenly spaced colours; a share outside has the colour of the end. */
function blend(anchors: readonly Rgb[], share: number): Rgb {
  const position = Math.min(1, Math.max(0, share)) * (anchors.length - 1);
  const first = Math.min(anchors.length - 2, Math.floor(position));
  const rest = position - first;
  const [a, b] = [anchors[first], anchors[first + 1]];
  return [0, 1, 2].map((k) => Math.round(a[k] + (b[k] - a[k]) * rest)) as unknown as Rgb;
}

/** `#rrggbb` or `rrggbb`. */
function fromHex(text: string): Rgb {
  const digits = text.replace('#', '');
  return [0, 2, 4].map((k) => Number.parseInt(digits.slice(k, k + 2), 16)) as unknown as Rgb;
}

/**
 * The range of values for the scale of colours: from the 1st to the 99th percentile, extended to include the limit.
 * @returns `low` and `high` of the scale, and the smallest and the largest value
 */
export function rangeOf(
  values: Iterable<number>,
  head: LayerHead,
): { low: number; high: number; min: number; max: number } {
  const some: number[] = [];
  let min = Number.POSITIVE_INFINITY;
  let max = Number.NEGATIVE_INFINITY;
  let seen = 0;
  // A part of the cells is enough for two percentiles.
  const every = Math.max(1, Math.floor(head.cells / 200_000));
  for (const value of values) {
    if (Number.isNaN(value)) continue;
    if (value < min) min = value;
    if (value > max) max = value;
    if (seen++ % every === 0) some.push(value);
  }
  if (some.length === 0) return { low: 0, high: 1, min: 0, max: 1 };
  some.sort((a, b) => a - b);
  let low = some[Math.floor((some.length - 1) * 0.01)];
  let high = some[Math.ceil((some.length - 1) * 0.99)];
  if (head.limit !== null) {
    const margin = head.signed ? 1.5 : 1;
    low = Math.min(low, head.signed ? -margin * head.limit : head.limit);
    high = Math.max(high, margin * head.limit);
  }
  if (!head.signed && head.unit !== 'count' && low > 0 && low < high / 2) low = 0;
  if (high === low) high = low + (Math.abs(low) || 1);
  return { low, high, min, max };
}
