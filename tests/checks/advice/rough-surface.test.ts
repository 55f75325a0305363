import { describe, expect, it } from 'vitest';
import { roughSurface } from '../../../src/checks/advice/rough-surface.js';

const facts = { pass: 'source 1', rms: 0.014, maxRms: 0.012, range: null, maxRange: null };

describe('rough-surface', () => {
  it('names the scatter and where to look', () => {
    const advice = roughSurface.advise(facts)!;
    expect(advice.text).toContain('Points of source 1 scatter by 14.0 mm');
    expect(advice.figures.rms).toEqual({ value: 0.014, unit: 'm' });
  });

  it('is quiet at the limit, without one, and without a figure', () => {
    expect(roughSurface.advise({ ...facts, rms: 0.012 })).toBeNull();
    expect(roughSurface.advise({ ...facts, maxRms: null })).toBeNull();
    expect(roughSurface.advise({ ...facts, rms: null })).toBeNull();
  });
});
