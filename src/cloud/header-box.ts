import type { ReportIssue } from './format-issue.js';
import { Encoding, type HeaderFields as Header } from './header-fields.js';

/** Steps coarser or finer than these are no measure of position, whatever the unit (metre, foot, degree). */
const COARSEST_STEP = 0.1;
const FINEST_STEP = 1e-10;
const AXES = ['x', 'y', 'z'] as const;

/** Rules about scale, offset, extent and GPS time range. */
export function inspectBox(h: Header, add: ReportIssue): void {
  for (let i = 0; i < 3; i++) {
    const usable = inspectStep(h, i, add);
    inspectRange(h, i, usable, add);
  }
  inspectTimes(h, add);
}

/** @returns whether coordinates can be worked out along the axis */
function inspectStep(h: Header, i: number, add: ReportIssue): boolean {
  const axis = AXES[i];
  const scale = h.scale[i];
  const scaleAt = 131 + 8 * i;
  const usable = Number.isFinite(scale) && scale !== 0;
  if (!usable) add('scale', scaleAt, String(scale), 'a positive number', `the ${axis} scale is unusable`);
  else if (scale < 0) add('scale-negative', scaleAt, scale, 'a positive number', `the ${axis} scale is negative`);
  else if (h.pointCount > 0 && (scale > COARSEST_STEP || scale < FINEST_STEP)) {
    const text = `the ${axis} scale is no sensible step for coordinates`;
    add('scale-range', scaleAt, scale, `${FINEST_STEP} to ${COARSEST_STEP}`, text);
  }
  if (Number.isFinite(h.offset[i])) return usable;
  add('offset', 155 + 8 * i, String(h.offset[i]), 'a finite number', `the ${axis} offset is unusable`);
  return false;
}

function inspectRange(h: Header, i: number, usable: boolean, add: ReportIssue): void {
  const axis = AXES[i];
  const maxAt = 179 + 16 * i;
  const [min, max] = [h.min[i], h.max[i]];
  const found = `${min} to ${max}`;
  if (!Number.isFinite(min) || !Number.isFinite(max)) {
    add('box-not-finite', maxAt, found, 'finite numbers', `the header's ${axis} range is not made of numbers`);
  } else if (h.pointCount === 0 && (min !== 0 || max !== 0)) {
    add('box-empty', maxAt, found, '0 to 0', `without points the header's ${axis} range must be zero`);
  } else if (min > max) {
    add('box-order', maxAt, found, 'minimum below maximum', `the header's ${axis} range is turned round`);
  } else if (usable && h.pointCount > 0) {
    // Coordinates are stored as signed integers of 32 bits; a step more allows for a rounded range.
    const ends = [-2147483649, 2147483648].map((raw) => raw * h.scale[i] + h.offset[i]);
    const [low, high] = ends[0] < ends[1] ? ends : [ends[1], ends[0]];
    if (min < low || max > high) {
      const text = `the header's ${axis} range cannot be reached with this scale and offset`;
      add('coordinate-range', maxAt, found, `within ${low} to ${high}`, text);
    }
  }
}

const WEEK_SECONDS = 604_800;

/** LAS 1.5, "max and min GPS time". */
function inspectTimes(h: Header, add: ReportIssue): void {
  const { gpsTimeMin: min, gpsTimeMax: max } = h;
  if (min === null || max === null) return;
  const found = `${min} to ${max}`;
  if (h.pointCount === 0) {
    if (min !== 0 || max !== 0) {
      add('gps-range-empty', 375, found, '0 to 0', 'without points the GPS time range must be zero');
    }
  } else if (!(min <= max)) {
    add('gps-range-order', 375, found, 'minimum below maximum', "the header's GPS time range is turned round");
  } else if ((h.globalEncoding & Encoding.standardGpsTime) === 0 && (min < 0 || max > WEEK_SECONDS)) {
    const text = 'the GPS time range lies outside a week though times are said to be seconds of the week';
    add('gps-range-week', 375, found, `0 to ${WEEK_SECONDS}`, text);
  }
}
