import type { AccuracyFacts, TestedPoints } from '../../../src/checks/standards/standard.js';
import { mean, percentile, rmse } from '../../../src/geometry/statistics.js';

/** Check points with errors of so many metres an axis; an axis that is left out was not tested. */
export function testedOf(
  errors: { x?: readonly number[]; y?: readonly number[]; z?: readonly number[] },
  more: Partial<TestedPoints> = {},
): TestedPoints {
  const axes = [errors.x, errors.y, errors.z].filter((values) => values !== undefined);
  const lengths = axes[0].map((_, i) => Math.hypot(...axes.map((values) => values[i])));
  return {
    points: lengths.length,
    rmseX: errors.x ? rmse(errors.x) : null,
    rmseY: errors.y ? rmse(errors.y) : null,
    rmseZ: errors.z ? rmse(errors.z) : null,
    mean: Math.max(...axes.map((values) => Math.abs(mean(values)))),
    p95: percentile(lengths, 95),
    surveyH: null,
    surveyV: null,
    ...more,
  };
}

/** So many check points with an RMSE as given and a mean of zero. */
export function pointsOf(points: number, more: Partial<TestedPoints>): TestedPoints {
  return { points, rmseX: null, rmseY: null, rmseZ: null, mean: 0, p95: 0, surveyH: 0, surveyV: 0, ...more };
}

/** Facts in which nothing stands against a claim but what a test changes: a square kilometre, points spread evenly. */
export function factsOf(more: Partial<AccuracyFacts>): AccuracyFacts {
  return {
    aspect: 'vertical',
    unit: { metres: 1, decimals: 3 },
    target: null,
    tested: null,
    vegetated: null,
    doubles: [],
    blunders: [],
    blundersAccepted: 0,
    untested: 0,
    incomplete: [],
    area: 1e6,
    spread: {
      n: more.tested?.points ?? 0,
      diagonal: 1414,
      quarters: [10, 10, 10, 10],
      leastShare: 0.25,
      spacing: 200,
      nearest: [0, 1],
      extentShare: 0.9,
    },
    layout: 'area',
    table: null,
    ...more,
  };
}

/** Errors of a worked example, axis by axis. */
export function axisErrors(
  points: readonly {
    x: number;
    y: number;
    z: number;
    cloudX: number | null;
    cloudY: number | null;
    cloudZ: number | null;
  }[],
) {
  return {
    x: points.map((p) => p.cloudX! - p.x),
    y: points.map((p) => p.cloudY! - p.y),
    z: points.map((p) => p.cloudZ! - p.z),
  };
}
