import { describe, expect, it } from 'vitest';
import { grossShift } from '../../../src/checks/advice/gross-shift.js';
import { pairFacts, passFacts } from './facts.js';

describe('gross-shift', () => {
  it('names a shift of whole voxels', () => {
    const advice = grossShift.advise(passFacts([pairFacts('source 1', 'source 2', { gross: [3, 0, 4] })]))!;
    expect(advice.text).toContain('source 1 and source 2 are shifted by some 5.000 m');
    expect(advice.figures.gross).toEqual({ value: 5, unit: 'm' });
  });

  it('is quiet for shifts within a voxel', () => {
    expect(grossShift.advise(passFacts([pairFacts('a', 'b', { failing: true, shift: [0.1, 0, 0] })]))).toBeNull();
  });
});
