import { describe, expect, it } from 'vitest';
import { pointDistribution } from '../../src/checks/point-distribution.js';
import { judge, squareZone } from './judge.js';
import { passCellsOf } from './pass-cells-of.js';

const zones = [squareZone('field', 0, 0, 20, 20)];

describe('point-distribution', () => {
  // USGS Lidar Base Specification 2025 rev. A: 90 % of the cells of 2 x the nominal pulse spacing.
  it('passes at 90 % of the cells and fails below', () => {
    const every = (n: number) => passCellsOf(20, 20, (x, y) => ((y * 20 + x) % 400 < n ? [1] : []));
    expect(judge(pointDistribution, { spacing: 0.5, zone: 'field' }, [every(360)], { zones }).state).toBe('pass');
    const thin = judge(pointDistribution, { spacing: 0.5, zone: 'field' }, [every(359)], { zones });
    expect(thin.state).toBe('fail');
    expect(thin.measured).toMatchObject({ cells: { value: 400 } });
    expect(thin.measured.share.value).toBeCloseTo(359 / 400, 12);
  });

  it('judges every pass by itself unless told otherwise', () => {
    const stripes = passCellsOf(20, 20, (x) => (x % 2 === 0 ? [1] : [2]));
    const apart = judge(pointDistribution, { spacing: 0.5, zone: 'field' }, [stripes], { zones });
    expect(apart.state).toBe('fail');
    expect(apart.measured.share.value).toBeCloseTo(0.5, 12);
    expect(judge(pointDistribution, { spacing: 0.5, perPass: false, zone: 'field' }, [stripes], { zones }).state).toBe(
      'pass',
    );
  });

  it('names the pass that is spread worst, and leaves out passes that never came by', () => {
    const cells = passCellsOf(20, 20, (_, y) => (y > 14 ? [1] : [1, 3]));
    const verdict = judge(pointDistribution, { spacing: 0.5, zone: 'field' }, [cells], { zones });
    expect(verdict.summary).toContain('source 3');
  });

  it('is undetermined on too few cells', () => {
    expect(judge(pointDistribution, { spacing: 0.5 }, [passCellsOf(4, 4, () => [1])]).state).toBe('undetermined');
  });
});
