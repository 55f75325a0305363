import { describe, expect, it } from 'vitest';
import { coverage } from '../../src/checks/coverage.js';
import { judge, squareZone } from './judge.js';
import { passCellsOf } from './pass-cells-of.js';

const zones = [squareZone('road', 0, 0, 20, 10)];

describe('coverage', () => {
  it('counts the cells of a zone that hold a point, and the area that is missing', () => {
    const verdict = judge(
      coverage,
      { minShare: 0.9, zone: 'road' },
      { cells: passCellsOf(15, 10, () => [1]) },
      { zones },
    );
    expect(verdict.state).toBe('fail');
    expect(verdict.measured).toMatchObject({ cells: { value: 200 }, missingArea: { value: 50, unit: 'm2' } });
    expect(verdict.measured.share.value).toBeCloseTo(0.75, 12);
    const [places] = verdict.evidence.filter((e) => e.kind === 'locations');
    expect(places.items[0]).toMatchObject({ x: 17.5, y: 5, value: 50 });
  });

  it('asks for the designed number of passes', () => {
    const cells = passCellsOf(20, 10, (x) => (x < 12 ? [1, 2] : [1]));
    expect(judge(coverage, { zone: 'road' }, { cells }, { zones }).state).toBe('pass');
    const twice = judge(coverage, { passes: 2, zone: 'road' }, { cells }, { zones });
    expect(twice.state).toBe('fail');
    expect(twice.measured.share.value).toBeCloseTo(0.6, 12);
  });

  it('without a zone judges the data and the holes they enclose', () => {
    const hole = passCellsOf(12, 12, (x, y) => (x > 4 && x < 7 && y > 4 && y < 7 ? [] : [1]));
    const verdict = judge(coverage, { minShare: 1 }, { cells: hole });
    expect(verdict.measured).toMatchObject({ cells: { value: 100 }, missingArea: { value: 4 } });
  });

  it('is undetermined without a complete cell', () => {
    expect(judge(coverage, {}, { cells: passCellsOf(0, 0, () => []) }).state).toBe('undetermined');
  });
});
