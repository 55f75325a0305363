import { describe, expect, it } from 'vitest';
import { mergeSurveyLines } from '../../src/assemble/survey-lines.js';
import type { SurveyPointLine } from '../../src/checks/contract/check.js';

function line(id: string, more: Partial<SurveyPointLine>): SurveyPointLine {
  return { id, role: 'check', x: 1, y: 2, z: 3, dz: null, n: 0, method: 'plane', perPass: [], status: 'used', ...more };
}

describe('survey points of several requirements', () => {
  it('are one line each: heights of the one, places of the other', () => {
    const heights = [line('A', { dz: 0.01, n: 90 }), line('B', { dz: -0.02, n: 80 })];
    const places = [line('A', { dx: 0.03, dy: -0.01, method: 'by hand' }), line('B', { status: 'no-target' })];
    expect(mergeSurveyLines([heights, places])).toEqual([
      line('A', { dz: 0.01, n: 90, dx: 0.03, dy: -0.01 }),
      line('B', { dz: -0.02, n: 80, dx: null, dy: null }),
    ]);
  });

  it('a blunder in one is a blunder, and a height found elsewhere counts', () => {
    const heights = [line('A', { dz: 0.01 }), line('B', { status: 'no-data' })];
    const places = [line('A', { dx: 1, dy: 0, status: 'blunder' }), line('B', { dx: 0, dy: 0, dz: 0.004 })];
    expect(mergeSurveyLines([heights, places]).map(({ status, dz }) => [status, dz])).toEqual([
      ['blunder', 0.01],
      ['used', 0.004],
    ]);
  });

  it('do not change the verdicts they come from', () => {
    const heights = [line('A', { dz: null })];
    mergeSurveyLines([heights, [line('A', { dx: 1, dy: 1, dz: 1 })]]);
    expect(heights[0].dz).toBeNull();
    expect(mergeSurveyLines([])).toEqual([]);
  });
});
