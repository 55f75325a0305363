import { describe, expect, it } from 'vitest';
import {
  atLeast,
  atMost,
  limitOfJudge,
  limitsOf,
  type Metrics,
  metric,
  NONE_ALLOWED,
  refuseUndeclared,
} from '../../src/checks/contract/metric.js';
import { figure, undetermined } from '../../src/checks/contract/wording.js';

const metrics: Metrics = {
  rmse: metric('RMSE', 'm', atMost('maxRmse')),
  n: metric('points', 'count', atLeast('minPoints')),
  errors: metric('errors', 'count', NONE_ALLOWED),
  spacing: metric('least spacing', 'm', limitOfJudge('at-least')),
  mean: metric('mean', 'm'),
};

describe('limits by declaration', () => {
  it('are those whose option is given, and the fixed ones, in the order of the declaration', () => {
    expect(Object.entries(limitsOf(metrics, { maxRmse: 0.02 }))).toEqual([
      ['rmse', { value: 0.02, unit: 'm' }],
      ['errors', { value: 0, unit: 'count' }],
    ]);
    expect(Object.keys(limitsOf(metrics, { minPoints: 30, mean: 1 }))).toEqual(['n', 'errors']);
  });

  it('refuse what the check does not declare: a figure, its unit, a limit', () => {
    const verdict = (measured: object, limits = {}) => undetermined('', { measured, limits } as never);
    expect(() => refuseUndeclared('c', metrics, verdict({ rmse: figure(0.01, 'm') }))).not.toThrow();
    expect(() => refuseUndeclared('c', metrics, verdict({ rms: figure(0.01, 'm') }))).toThrow(
      'c does not declare the figure rms',
    );
    expect(() => refuseUndeclared('c', metrics, verdict({ rmse: figure(10, 'count') }))).toThrow(
      'rmse in m, not in count',
    );
    expect(() => refuseUndeclared('c', metrics, verdict({}, { mean: figure(0.01, 'm') }))).toThrow('no limit for mean');
    expect(() => refuseUndeclared('c', metrics, verdict({}, { spacing: figure(9, 'm') }))).not.toThrow();
  });
});
