import { describe, expect, it } from 'vitest';
import { growthSinceAlignment } from '../../../src/checks/advice/growth-since-alignment.js';
import { course, quietDrive } from './vehicle-course.js';

// Aligned until 100 s; the pass is seen from 160 s to 400 s. 0.1 mm a second are 6 mm a minute.
const grown = course(160, 0.006, 400, 0.03);

describe('growth-since-alignment', () => {
  it('names the growth and the time since the alignment', () => {
    const { text, figures } = growthSinceAlignment.advise({ ...quietDrive, courses: [grown] })!;
    expect(text).toContain('grows by 6.0 mm a minute to +30.0 mm, 5.0 minutes after');
    expect(figures.slope.value).toBeCloseTo(6, 9);
  });

  it.each([
    ['a constant offset', course(160, 0.03, 400, 0.0301, 1e-5)],
    ['an offset that began long after the alignment', course(300, 0, 400, 0.03)],
    ['an offset that shrinks', course(160, 0.03, 400, 0.006)],
    ['an offset below the limit', course(160, 0.002, 400, 0.009)],
    ['noise', course(160, 0.006, 400, 0.03, 1e-4)],
  ])('is quiet for %s', (_, near) => {
    expect(growthSinceAlignment.advise({ ...quietDrive, courses: [near] })).toBeNull();
  });

  it('is quiet where no alignment is known', () => {
    expect(growthSinceAlignment.advise({ ...quietDrive, courses: [grown], aligned: null })).toBeNull();
  });
});
