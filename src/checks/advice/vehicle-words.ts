import type { AxisCourse, VehicleAxis, VehicleDriftFacts } from './rule.js';

/** An axis of the vehicle in words. */
export function axisWords(axis: VehicleAxis): string {
  return axis === 'along' ? 'along the drive' : axis === 'left' ? 'to the left' : 'in height';
}

const SIGNIFICANT = 3;

/** Courses that lead significantly away from zero up to an offset beyond the limit at their end, the largest first. */
export function growingCourses({ courses, limit }: VehicleDriftFacts): AxisCourse[] {
  return courses
    .filter(({ slope, from, to, at }) => {
      const end = at(to);
      const grows = Math.abs(slope.value) > SIGNIFICANT * slope.std && slope.value * end > 0;
      return grows && Math.abs(end) > limit && Math.abs(at(from)) < Math.abs(end);
    })
    .sort((a, b) => Math.abs(b.at(b.to)) - Math.abs(a.at(a.to)));
}
