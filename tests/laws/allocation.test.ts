import { setFlagsFromString } from 'node:v8';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { AnyMeasurement } from '../../src/measure/contract/measurement.js';
import { measurements } from '../../src/measure/index.js';
import { pointCounts } from '../../src/measure/point-counts.js';
import { batchesOf, lawPoint, numbered } from './batches.js';
import { sampleParams } from './sample-params.js';

/*
 * Law 6: `add` allocates no memory for each point. The same batch is added again and again, and the memory in use is read
 * before and after each time. Code that is not compiled yet allocates memory for every fraction it computes, so the first
 * rounds do not count: a measurement obeys the law when, in any round, half of the batches stay below what is allowed for
 * a whole batch. Code that makes an object or an array for each point never does, however often it runs.
 * Compiling in the same thread makes the outcome independent of how busy the machine is.
 */
setFlagsFromString('--no-concurrent-recompilation');
setFlagsFromString('--no-use-osr');

const POINTS = 4096;
/** Bytes allowed for a batch, whatever its size: one a point. The smallest thing that can be allocated has 16. */
const ALLOWED = 4096;
const ADDS = 9;
/** The slowest measurement needed 20. */
const MOST_ROUNDS = 100;

const points = fc.sample(lawPoint, { numRuns: POINTS, seed: 20261129 }).map((point) => ({ ...point, file: 1 }));
const [batch] = batchesOf(numbered(points), POINTS);

function bytesInUse(): number {
  const { heapUsed, arrayBuffers } = process.memoryUsage();
  return heapUsed + arrayBuffers;
}

/** Bytes that adding a batch allocates: the median of some batches, in the best of many rounds. */
function bytesOfABatch(m: AnyMeasurement, params: unknown): number {
  const state = m.create(params);
  const growth = new Float64Array(ADDS);
  let best = Number.POSITIVE_INFINITY;
  for (let round = 0; round < MOST_ROUNDS && best > ALLOWED; round++) {
    for (let k = 0; k < ADDS; k++) {
      const before = bytesInUse();
      m.add(state, batch);
      growth[k] = bytesInUse() - before;
    }
    best = Math.min(best, growth.sort()[ADDS >> 1]);
  }
  return best;
}

describe('law 6: no memory is allocated for each point', () => {
  const cases = measurements.flatMap((m) =>
    (sampleParams[m.id] ?? []).map((params) => [m.id, JSON.stringify(params).slice(0, 60), m, params] as const),
  );

  it('is tried on every measurement, on a batch of one file', () => {
    expect(new Set(cases.map(([id]) => id)).size).toBe(measurements.length);
    expect(batch.count).toBe(POINTS);
  });

  it.each(cases)('%s %s', (_id, _name, m, params) => {
    expect(bytesOfABatch(m, params)).toBeLessThanOrEqual(ALLOWED);
  });
});

describe('law 6 is found broken where a measurement allocates', () => {
  /** point-counts, with something added that uses memory. The numbers are kept, so that the engine cannot leave it out. */
  const kept = new Array<unknown>(64).fill(null);
  const spoilt = (spoil: (i: number) => unknown): AnyMeasurement => ({
    ...pointCounts,
    add(state, batch) {
      pointCounts.add(state, batch);
      for (let i = 0; i < batch.count; i++) kept[i & 63] = spoil(i);
    },
  });

  it.each([
    ['an array for each point', spoilt((i) => [i])],
    ['an object for each point', spoilt((i) => ({ i }))],
    ['a function for each point', spoilt((i) => () => i)],
    ['an object for every tenth point', spoilt((i) => (i % 10 === 0 ? { x: i, y: i } : null))],
    ['a typed array for every batch', spoilt((i) => (i === 0 ? new Float64Array(POINTS) : null))],
  ])('%s', (_, m) => {
    expect(bytesOfABatch(m, null)).toBeGreaterThan(ALLOWED);
  });

  it('and point-counts itself, with a loop that keeps numbers, obeys it', () => {
    expect(
      bytesOfABatch(
        spoilt((i) => i),
        null,
      ),
    ).toBeLessThanOrEqual(ALLOWED);
  });
});
