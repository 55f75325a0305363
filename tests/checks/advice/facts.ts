import type { AdviceFacts, HeightResidual, PairFacts, PassFacts } from '../../../src/checks/advice/rule.js';

/** Differences with a planted middle and a scatter of the given size that averages to nothing: +s, -s, +s, -s ... */
export function scattered(n: number, middle: number, scatter: number): number[] {
  return Array.from({ length: n }, (_, i) => middle + (i % 2 === 0 ? scatter : -scatter));
}

/** Check points in a row, 10 m apart, on ground that rises from 4 to 14 m. */
export function heightFacts(
  dz: readonly number[],
  more: Partial<HeightResidual> = {},
  limit = 0.02,
): AdviceFacts['heights'] {
  const points = dz.map((v, i) => ({
    id: `P${i + 1}`,
    x: 561_000 + 10 * i,
    y: 5_932_000,
    z: 4 + (10 * i) / Math.max(1, dz.length - 1),
    dz: v,
    blunder: false,
    perPass: [],
    ...more,
  }));
  return { limit, points };
}

/** Check points as each pass sees them: one list of differences a pass. */
export function passHeights(byPass: Record<string, readonly number[]>, limit = 0.02): AdviceFacts['heights'] {
  const passes = Object.entries(byPass);
  const n = passes[0][1].length;
  const mean = Array.from({ length: n }, (_, i) => passes.reduce((sum, [, dz]) => sum + dz[i], 0) / passes.length);
  const { points } = heightFacts(mean);
  return {
    limit,
    points: points.map((p, i) => ({ ...p, perPass: passes.map(([pass, dz]) => ({ pass, dz: dz[i] })) })),
  };
}

/** A pair that agrees, but for what the test wants otherwise. */
export function pairFacts(a: string, b: string, more: Partial<PairFacts> = {}): PairFacts {
  return {
    a,
    b,
    heads: false,
    failing: false,
    cells: 500,
    meanDz: 0,
    variation: null,
    shift: [0, 0, 0],
    length: 0,
    std: 0.0005,
    gross: [0, 0, 0],
    driven: null,
    range: null,
    ...more,
  };
}

export function passFacts(pairs: readonly PairFacts[], more: Partial<PassFacts> = {}): PassFacts {
  return { limit: 0.015, pairs, worst: 0, ...more };
}
