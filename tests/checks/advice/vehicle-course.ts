import type { AxisCourse, VehicleDriftFacts } from '../../../src/checks/advice/rule.js';

/** A pass in which nothing stands out. */
export const quietDrive: VehicleDriftFacts = {
  pass: 'drive 1, section 2',
  limit: 0.01,
  outages: [],
  outside: { along: 0, left: 0, up: 0 },
  courses: [],
  aligned: 100,
  closing: 900,
};

/** A straight line through offsets: metres at two times, seconds. */
export function course(from: number, atFrom: number, to: number, atTo: number, std = 1e-6): AxisCourse {
  const slope = (atTo - atFrom) / (to - from);
  return { axis: 'up', from, to, slope: { value: slope, std }, at: (t) => atFrom + slope * (t - from) };
}
