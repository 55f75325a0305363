import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { AnyMeasurement } from '../../src/measure/contract/measurement.js';
import { blockDerivations, measurementById, measurements } from '../../src/measure/index.js';
import { batchesOf, type LawPoint, lawPoint, numbered } from './batches.js';
import { sampleParams } from './sample-params.js';

const RUNS = 40;

function bytes(packed: ArrayBuffer): string {
  return Buffer.from(packed).toString('base64');
}

/** State of all points in one go. */
function measureAtOnce(m: AnyMeasurement, params: unknown, points: readonly LawPoint[], size: number): ArrayBuffer {
  const state = m.create(params);
  for (const batch of batchesOf(points, size)) m.add(state, batch);
  return m.pack(state);
}

/** State as a run makes it: spans measured apart, absorbed in some order. */
function measureInSpans(
  m: AnyMeasurement,
  params: unknown,
  points: readonly LawPoint[],
  cuts: readonly number[],
  order: readonly number[],
): ArrayBuffer {
  const edges = [0, ...[...cuts].map((c) => c % (points.length + 1)).sort((a, b) => a - b), points.length];
  const spans = edges.slice(1).map((end, i) => points.slice(edges[i], end));
  const merged = m.create(params);
  const turns = spans.map((_, i) => i).sort((a, b) => (order[a] ?? 0) - (order[b] ?? 0));
  for (const i of turns) m.merge(merged, measureAtOnce(m, params, spans[i], 7 + i));
  return m.pack(merged);
}

/** Points at one place, as high as the highest mountain (8,849 m), labelled with the largest codes. */
const highPoints = numbered(
  [1, 2, 3].map((k) => ({
    x: 999,
    y: 1499,
    z: 8_849_000 - 12_500 - k,
    pass: 1,
    file: 1,
    withheld: false,
    returnNumber: 1,
    returnCount: 1,
    classification: 2,
    intensity: 65_535,
    gpsTime: 4e8 + k / 7,
    scanAngle: 0,
    userData: 255,
  })),
);

/** Doublings of a state: 2^23 are 8 million times the points. */
const DOUBLINGS = 23;

/** The state of 2^DOUBLINGS times the points: doubled again and again, or as 1 + 1 + 2 + 4 + 8 ... of them. */
function multiply(m: AnyMeasurement, params: unknown, one: ArrayBuffer, how: 'doubled' | 'summed'): ArrayBuffer {
  const sum = m.create(params);
  m.merge(sum, one.slice(0));
  let power = one;
  for (let k = 0; k < DOUBLINGS; k++) {
    if (how === 'summed') m.merge(sum, power.slice(0));
    const twice = m.create(params);
    m.merge(twice, power.slice(0));
    m.merge(twice, power.slice(0));
    power = m.pack(twice);
  }
  return how === 'doubled' ? power : m.pack(sum);
}

/** For every measurement there is: the laws of src/measure/contract/measurement.ts. */
describe.each(measurements.map((m) => [m.id, m] as const))('%s', (id, m) => {
  it('has parameters to try the laws with', () => {
    expect(sampleParams[id]?.length ?? 0).toBeGreaterThan(0);
  });

  describe.each((sampleParams[id] ?? []).map((params) => [JSON.stringify(params).slice(0, 60), params] as const))(
    '%s',
    (_, params) => {
      const points = fc.array(lawPoint, { minLength: 0, maxLength: 120 }).map(numbered);

      it('law 1: split, ordered and grouped anyhow, the packed state is the same bytes', () => {
        fc.assert(
          fc.property(
            points,
            fc.array(fc.nat(200), { minLength: 1, maxLength: 5 }),
            fc.array(fc.nat(100), { minLength: 6, maxLength: 6 }),
            (all, cuts, order) => {
              const whole = measureAtOnce(m, params, all, 1000);
              expect(bytes(measureInSpans(m, params, all, cuts, order))).toBe(bytes(whole));
            },
          ),
          { numRuns: RUNS, seed: 20261125 },
        );
      });

      it('law 2: an empty state changes nothing', () => {
        fc.assert(
          fc.property(points, (all) => {
            const packed = measureAtOnce(m, params, all, 16);
            const state = m.create(params);
            m.merge(state, m.pack(m.create(params)));
            m.merge(state, packed);
            m.merge(state, m.pack(m.create(params)));
            expect(bytes(m.pack(state))).toBe(bytes(packed));
          }),
          { numRuns: RUNS / 2, seed: 20261125 },
        );
      });

      // The order of times keeps the ordinal of every point: a point that comes twice is no state of a run. It holds no sums.
      if (id !== 'time-order') {
        it('law 3: sums of many points are exact, however they are added up', () => {
          const one = measureAtOnce(m, params, highPoints, 16);
          expect(bytes(multiply(m, params, one, 'summed'))).toBe(bytes(multiply(m, params, one, 'doubled')));
        });
      }

      it('law 4: a packed state absorbed by an empty one packs to the same bytes', () => {
        fc.assert(
          fc.property(points, (all) => {
            const packed = measureAtOnce(m, params, all, 16);
            const state = m.create(params);
            m.merge(state, packed);
            expect(bytes(m.pack(state))).toBe(bytes(packed));
          }),
          { numRuns: RUNS / 2, seed: 20261125 },
        );
      });

      it('law 5: the same points again do not make the state larger', () => {
        const all = fc.sample(lawPoint, { numRuns: 400, seed: 7 });
        const once = measureAtOnce(m, params, numbered(all), 64);
        const thrice = measureAtOnce(m, params, numbered([...all, ...all, ...all]), 64);
        // A bounded sample may still be filling up: it is bounded by its own limit.
        const room = (params as { most?: number } | null)?.most !== undefined ? 3 : 1;
        expect(thrice.byteLength).toBeLessThanOrEqual(once.byteLength * room);
      });
    },
  );
});

/** Parameters of what is kept of blocks. */
const blockParams: Record<string, unknown> = {
  'pass-pairs': { voxel: 2, minPoints: 3, area: null },
  'pass-surfaces': { voxel: 2, minPoints: 4 },
  'moved-planes': { voxel: 2, minPoints: 3, moved: { passes: [1, 2], by: [1, 0, -1] } },
};

/** Two passes over gently rolling ground on both sides of a border of blocks, in random order. */
function groundPoints(seed: number): LawPoint[] {
  return fc.sample(lawPoint, { numRuns: 3000, seed }).map((p) => {
    const y = (p.y + 4000) * 4;
    return {
      ...p,
      y,
      z: Math.round(0.02 * p.x + 0.01 * y) + (p.pass === 2 ? 20 : 0) + (p.intensity % 5),
      file: 0,
      withheld: false,
    };
  });
}

describe.each(blockDerivations.map((d) => [d.id, d] as const))('blocks of %s', (id, derivation) => {
  const { measurement, params } = derivation.from(blockParams[id]);
  const m = measurementById(measurement);
  const local = derivation.local(blockParams[id]);

  it('its measurement says how large a block is, and how far outside a point can still matter to it', () => {
    expect(m.blocks!.edge(params)).toBeGreaterThan(0);
    expect(m.blocks!.halo(params)).toBeGreaterThanOrEqual(0);
    // The halo is in metres like the edge: a point farther away than a block never matters.
    expect(m.blocks!.halo(params)).toBeLessThan(m.blocks!.edge(params));
  });

  /** What is kept of all blocks, when the points are measured in spans whose pieces arrive in an order of their own. */
  function partsOf(points: readonly LawPoint[], spans: number, order: (i: number) => number): unknown[] {
    const each = Math.ceil(points.length / spans);
    const pieces = Array.from({ length: spans }, (_, k) => {
      const state = m.create(params);
      for (const batch of batchesOf(points.slice(k * each, (k + 1) * each), 100)) m.add(state, batch);
      return m.blocks!.cut(state).map(({ column, row, packed, bytes: size }) => {
        return { column, row, packed: packed.slice(0, size) };
      });
    }).flat();
    const turns = pieces.map((piece, i) => ({ piece, turn: order(i) })).sort((p, q) => p.turn - q.turn);
    const blocks = new Map<string, { column: number; row: number; packed: ArrayBuffer[] }>();
    for (const { piece } of turns) {
      const { column, row, packed } = piece;
      const block = blocks.get(`${column} ${row}`) ?? { column, row, packed: [] };
      block.packed.push(packed);
      blocks.set(`${column} ${row}`, block);
    }
    return [...blocks.values()]
      .sort((p, q) => p.column - q.column || p.row - q.row)
      .map(({ column, row, packed }) => {
        return structuredClone(derivation.collect(m.blocks!.open({ column, row }, packed, params), local));
      });
  }

  const resultOf = (parts: unknown[]) => derivation.combine(derivation.gather(parts), blockParams[id], () => null);

  it.each([1, 2, 3])('cut and put together anyhow, the result is the same (seed %i)', (seed) => {
    const points = groundPoints(seed);
    const whole = partsOf(points, 1, (i) => i);
    const result = resultOf(whole);
    expect(whole.length).toBeGreaterThan(1);
    expect(JSON.stringify(result).length).toBeGreaterThan(200);
    for (const [spans, factor] of [
      [2, -1],
      [5, 1],
      [7, -3],
    ])
      expect(resultOf(partsOf(points, spans, (i) => (i * factor) % 11))).toEqual(result);
  });
});
