import { describe, expect, it } from 'vitest';
import { noClosingAlignment } from '../../../src/checks/advice/no-closing-alignment.js';
import { course, quietDrive } from './vehicle-course.js';

const open = { ...quietDrive, closing: null };

describe('no-closing-alignment', () => {
  it('names an offset that grows to the end of a drive without an alignment there', () => {
    const { text } = noClosingAlignment.advise({ ...open, courses: [course(300, 0.004, 400, 0.03)] })!;
    expect(text).toContain('from +4.0 mm to +30.0 mm');
    expect(text).toContain('closing alignment');
  });

  it('is quiet where an alignment follows, the offset is constant, below the limit, or shrinks', () => {
    const near = (facts: object, one = course(300, 0.004, 400, 0.03)) =>
      noClosingAlignment.advise({ ...open, ...facts, courses: [one] });
    expect(near({ closing: 900 })).toBeNull();
    expect(near({}, course(300, 0.03, 400, 0.031))).toBeNull();
    expect(near({}, course(300, 0.001, 400, 0.009))).toBeNull();
    expect(near({}, course(300, 0.03, 400, 0.004))).toBeNull();
  });
});
