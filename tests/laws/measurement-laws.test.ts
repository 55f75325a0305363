import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { AnyMeasurement } from '../../src/measure/contract/measurement.js';
import { measurements } from '../../src/measure/index.js';
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

/** For every measurement there is: the laws of src/measure/measurement.ts. */
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
