import { describe, expect, it } from 'vitest';
import { pointDistribution } from '../../src/checks/point-distribution.js';
import { judge, squareZone } from './judge.js';
import { passCellsOf } from './pass-cells-of.js';

/** Inside data that go on for five cells all around, so that no cell of the zone is at the edge of the data. */
const zones = [squareZone('field', 5, 5, 25, 25)];
const inField = (x: number, y: number) => x >= 5 && x < 25 && y >= 5 && y < 25;

describe('point-distribution', () => {
  // USGS Lidar Base Specification 2025 rev. A: 90 % of the cells of 2 x the nominal pulse spacing.
  it('passes at 90 % of the cells and fails below', () => {
    // Empty cells one by one, so that none is a gap to the outside.
    const every = (n: number) =>
      passCellsOf(30, 30, (x, y) =>
        inField(x, y) && x % 2 === 0 && y % 2 === 0 && ((y - 5) >> 1) * 10 + ((x - 5) >> 1) < n ? [] : [1],
      );
    const judged = (n: number) =>
      judge(pointDistribution, { spacing: 0.5, zone: 'field' }, { cells: every(n) }, { zones });
    expect(judged(40).state).toBe('pass');
    expect(judged(40).measured.share.value).toBeCloseTo(0.9, 12);
    const thin = judged(41);
    expect(thin.state).toBe('fail');
    expect(thin.measured).toMatchObject({ cells: { value: 400 } });
    expect(thin.measured.share.value).toBeCloseTo(359 / 400, 12);
  });

  it('judges every pass by itself unless told otherwise', () => {
    const stripes = passCellsOf(30, 30, (x) => (x % 2 === 0 ? [1] : [2]));
    const apart = judge(pointDistribution, { spacing: 0.5, zone: 'field' }, { cells: stripes }, { zones });
    expect(apart.state).toBe('fail');
    expect(apart.measured.share.value).toBeCloseTo(0.5, 12);
    expect(
      judge(pointDistribution, { spacing: 0.5, perPass: false, zone: 'field' }, { cells: stripes }, { zones }).state,
    ).toBe('pass');
  });

  it('names the pass that is spread worst, and leaves out passes that never came by', () => {
    const cells = passCellsOf(30, 30, (x, y) => (x > 27 ? [2] : x % 3 === 0 && y % 3 === 0 ? [1] : [1, 3]));
    const verdict = judge(pointDistribution, { spacing: 0.5, zone: 'field' }, { cells }, { zones });
    expect(verdict.summary).toContain('source 3');
    expect(verdict.summary).toContain('the least of 2 passes');
  });

  it('judges a pass where it came by, not in the whole zone', () => {
    const half = passCellsOf(30, 30, (x) => (x < 16 ? [1, 2] : [1]));
    const verdict = judge(pointDistribution, { spacing: 0.5, zone: 'field' }, { cells: half }, { zones });
    expect(verdict.state).toBe('pass');
    // Ten of the eleven columns of pass 2 in the zone: its last one is the rim.
    expect(verdict.measured.cells.value).toBe(400 + 10 * 20);
  });

  it('is undetermined on too few cells', () => {
    expect(judge(pointDistribution, { spacing: 0.5 }, { cells: passCellsOf(4, 4, () => [1]) }).state).toBe(
      'undetermined',
    );
  });
});
