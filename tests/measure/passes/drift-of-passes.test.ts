import { describe, expect, it } from 'vitest';
import { passDrift } from '../../../src/checks/pass-drift.js';
import type { PassPair, PassPairs } from '../../../src/measure/pass-pairs.js';
import { type PassTimes, passTimes } from '../../../src/measure/pass-times.js';
import { driftOfPasses } from '../../../src/measure/passes/drift-of-passes.js';
import { judge } from '../../checks/judge.js';
import { measureFiles, ORIGIN, type TestPoint } from '../point-batches.js';

// Height differences by hand: 16 cells in each of six seconds, every pass one metre a second to the east.

const SECONDS = 6;
/** About their middle, millimetres: the median is 0 and the median of the absolute values 2. */
const SCATTER = [-3, -1, 1, 3].flatMap((mm) => [mm, mm, mm, mm]);
/**
 * Standard deviation of the median of these 16 values, metres: 1.4826 MAD for one value (the factor of the normal
 * distribution, 1 / 0.67449), and that of a median is sqrt(pi / 2) times that of a mean (large samples, any handbook of statistics).
 */
const STD = (Math.sqrt(Math.PI / 2) * 1.4826 * 0.002) / Math.sqrt(16);
const OPTIONS = { bin: 1, minCells: 10, window: 60, minSeconds: 8 };

const placeOf = (second: number, k: number) => ({
  x: second + 0.25 + 0.5 * (k % 2),
  y: 0.25 + 0.5 * Math.floor(k / 2),
});

function timesOf(passes: readonly number[]): PassTimes {
  const points: TestPoint[] = [];
  for (const source of passes)
    for (let second = 0; second < SECONDS; second++)
      for (let k = 0; k < 16; k++) points.push({ ...placeOf(second, k), source, time: 1000 * source + second + 0.5 });
  return measureFiles(passTimes, { cell: 0.5 }, [points]) as PassTimes;
}

/** Pass b above pass a by so many millimetres in each second. */
function pairOf(a: number, b: number, offset: readonly number[]): PassPair {
  const [x, y, dz] = [[], [], []] as number[][];
  for (let second = 0; second < SECONDS; second++)
    SCATTER.forEach((scatter, k) => {
      const place = placeOf(second, k);
      x.push(ORIGIN[0] + place.x);
      y.push(ORIGIN[1] + place.y);
      dz.push((offset[second] + scatter) / 1000);
    });
  const map = { x: Float64Array.from(x), y: Float64Array.from(y), dz: Float64Array.from(dz) };
  return { a, b, map } as PassPair;
}

const factsOf = (passes: readonly number[], pairs: PassPair[]) => ({
  compared: { voxel: 0.5, passes: [...passes], pairs } satisfies PassPairs,
  times: timesOf(passes),
});

const LEVEL = [0, 0, 0, 0, 0, 0];
const BUMP = [0, 0, 10, 0, 0, 0];

describe('the standard deviation of a bin of time', () => {
  it('against one other pass is that of the median of its cells', () => {
    const { compared, times } = factsOf([1, 2], [pairOf(1, 2, BUMP)]);
    const [first, second] = driftOfPasses(compared.pairs, times, OPTIONS);
    expect([...second.offset].map((v) => Math.round(v * 1e6) / 1e3)).toEqual(BUMP);
    expect([...first.offset].map((v) => Math.round(v * 1e6) / 1e3 + 0)).toEqual(BUMP.map((v) => 0 - v));
    for (const { std } of [first, second]) for (const v of std) expect(v / STD).toBeCloseTo(1, 3);
  });

  it('against two others is smaller by the root of two', () => {
    const { compared, times } = factsOf([1, 2, 3], [pairOf(1, 2, BUMP), pairOf(1, 3, LEVEL), pairOf(2, 3, LEVEL)]);
    for (const { std } of driftOfPasses(compared.pairs, times, OPTIONS))
      for (const v of std) expect((v * Math.SQRT2) / STD).toBeCloseTo(1, 3);
  });
});

describe('pass-drift with decision guarded', () => {
  const facts = factsOf([1, 2], [pairOf(1, 2, BUMP)]);
  // The offset is 10 mm and two standard deviations are 1.86 mm.
  it.each([
    [8, 'fail', 'fail'],
    [9, 'undetermined', 'fail'],
    [11, 'undetermined', 'pass'],
    [12, 'pass', 'pass'],
  ] as const)('a limit of %i mm: %s, %s by the figure alone', (limit, guarded, plain) => {
    expect(judge(passDrift, { maxOffset: limit / 1000, decision: 'guarded' }, facts).state).toBe(guarded);
    expect(judge(passDrift, { maxOffset: limit / 1000 }, facts).state).toBe(plain);
  });
});

describe('pass-drift names the worst pass', () => {
  it('among passes that are all within the limit', () => {
    const facts = factsOf(
      [1, 2, 3],
      [
        pairOf(1, 2, BUMP),
        pairOf(1, 3, LEVEL),
        pairOf(
          2,
          3,
          BUMP.map((v) => -v),
        ),
      ],
    );
    const verdict = judge(passDrift, { maxOffset: 0.02 }, facts);
    expect(verdict.state).toBe('pass');
    expect(verdict.summary).toMatch(/^source 2: up to \+10\.0 mm/);
  });

  it('among five of which two fail: the one farther off comes first', () => {
    const [two, three] = [[0, 0, 30, 0, 0, 0], LEVEL.map(() => 60)];
    const minus = (p: readonly number[], q: readonly number[]) => p.map((v, i) => v - q[i]);
    const facts = factsOf(
      [1, 2, 3, 4, 5],
      [
        pairOf(1, 2, two),
        pairOf(1, 3, three),
        pairOf(1, 4, LEVEL),
        pairOf(1, 5, LEVEL),
        pairOf(2, 3, minus(three, two)),
        pairOf(2, 4, minus(LEVEL, two)),
        pairOf(2, 5, minus(LEVEL, two)),
        pairOf(3, 4, minus(LEVEL, three)),
        pairOf(3, 5, minus(LEVEL, three)),
        pairOf(4, 5, LEVEL),
      ],
    );
    const verdict = judge(passDrift, { maxOffset: 0.02 }, facts, {
      passes: [1, 2, 3, 4, 5].map((key) => ({ key, label: `source ${key}`, points: 96 })),
    });
    expect(verdict.state).toBe('fail');
    expect(verdict.summary).toMatch(/^source 3: up to \+60\.0 mm/);
    expect(verdict.summary).toContain('2 of 5 passes exceed a limit');
  });
});
