import { describe, expect, it } from 'vitest';
import { steppedSurface } from '../../../src/checks/advice/stepped-surface.js';

const facts = { pass: 'source 1', rms: null, maxRms: null, range: 0.05, maxRange: 0.03 };

describe('stepped-surface', () => {
  it('names the steps and where to look', () => {
    const advice = steppedSurface.advise(facts)!;
    expect(advice.text).toContain('steps or waves of 50.0 mm within source 1');
    expect(advice.figures.range).toEqual({ value: 0.05, unit: 'm' });
  });

  it('is quiet at the limit, without one, and without a figure', () => {
    expect(steppedSurface.advise({ ...facts, range: 0.03 })).toBeNull();
    expect(steppedSurface.advise({ ...facts, maxRange: null })).toBeNull();
    expect(steppedSurface.advise({ ...facts, range: null })).toBeNull();
  });
});
