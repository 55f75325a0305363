import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { standards } from '../../../src/checks/standards/registry.js';
import type { AccuracyFacts, Aspect, TestedPoints } from '../../../src/checks/standards/standard.js';

const size = fc.double({ min: 0, max: 5, noNaN: true });
const perhaps = <T>(of: fc.Arbitrary<T>) => fc.option(of, { nil: null, freq: 4 });

function tested(aspect: Aspect): fc.Arbitrary<TestedPoints> {
  const plan = aspect === 'vertical' ? fc.constant(null) : size;
  const height = aspect === 'horizontal' ? fc.constant(null) : size;
  return fc.record({
    points: fc.integer({ min: 1, max: 200 }),
    rmseX: plan,
    rmseY: plan,
    rmseZ: height,
    mean: size,
    p95: size,
    surveyH: perhaps(fc.double({ min: 0, max: 0.1, noNaN: true })),
    surveyV: perhaps(fc.double({ min: 0, max: 0.1, noNaN: true })),
  });
}

function facts(aspect: Aspect): fc.Arbitrary<AccuracyFacts> {
  const spread = fc.record({
    n: fc.integer({ min: 1, max: 200 }),
    diagonal: fc.double({ min: 1, max: 1e5, noNaN: true }),
    quarters: fc.constant([5, 5, 5, 5] as [number, number, number, number]),
    leastShare: fc.double({ min: 0, max: 0.25, noNaN: true }),
    spacing: perhaps(fc.double({ min: 0, max: 1e4, noNaN: true })),
    nearest: fc.constant(null),
    extentShare: fc.double({ min: 0, max: 1, noNaN: true }),
  });
  return fc.record({
    aspect: fc.constant(aspect),
    unit: fc.record({ metres: fc.constantFrom(1, 0.3048, 1200 / 3937), decimals: fc.integer({ min: 1, max: 4 }) }),
    target: perhaps(fc.double({ min: 0.001, max: 5, noNaN: true })),
    tested: perhaps(tested(aspect)),
    vegetated: aspect === 'vertical' ? perhaps(tested('vertical')) : fc.constant(null),
    doubles: fc.constantFrom([], ['P1 is control point C1, 10.0 mm apart']),
    blunders: fc.array(fc.constantFrom('A', 'B', 'C'), { maxLength: 3 }),
    blundersAccepted: fc.integer({ min: 0, max: 3 }),
    untested: fc.integer({ min: 0, max: 5 }),
    incomplete: fc.constantFrom([], ['1 file could not be fully read.']),
    area: perhaps(fc.double({ min: 1, max: 1e11, noNaN: true })),
    spread: perhaps(spread),
    layout: fc.constantFrom('area', 'corridor'),
    table: fc.constant(null),
  });
}

const cases = standards.flatMap((standard) =>
  standard.aspects.map((aspect) => ({ standard, aspect, id: standard.id })),
);

// What must hold of every statement whatever was measured: rules of our own, tried on made-up facts.
describe.each(cases)('$id, $aspect', ({ standard, aspect }) => {
  it('claims only where nothing stands against it, and reads as a sentence', () => {
    fc.assert(
      fc.property(facts(aspect), (f) => {
        const { claimed, departures, sentence, class: met, count, spread } = standard.statement(f);
        if (claimed) expect(departures).toEqual([]);
        if (claimed) expect([f.tested === null, count.met, spread.met]).toEqual([false, true, true]);
        if (!claimed) expect(sentence).not.toMatch(/tested to meet|^Tested \d/);
        if (f.incomplete.length > 0 || f.doubles.length > 0 || f.blunders.length > f.blundersAccepted)
          expect(claimed).toBe(false);
        expect(`${sentence} ${met} ${departures.join(' ')}`).not.toMatch(/NaN|undefined|Infinity|null cm| {2}/);
        expect(sentence).toMatch(/\.$/);
      }),
      { seed: 11, numRuns: 500 },
    );
  });

  it('never counts no check point, nor one as several', () => {
    fc.assert(
      fc.property(facts(aspect), fc.constantFrom(null, 1, 2), (f, points) => {
        const few = f.tested && points !== null ? { ...f.tested, points } : null;
        const stated = standard.statement({ ...f, tested: few });
        const words = [stated.sentence, ...stated.departures, ...stated.remarks].join(' ');
        expect(words).not.toMatch(
          /(?<![\d,.])0 (more )?check ?points?|(?<![\d,.])1 (more )?check ?points|ONLY 0|2 (more )?check ?point\b/,
        );
        if (few === null && f.vegetated === null) expect(stated.sentence).not.toMatch(/data set was tested|^Tested/);
      }),
      { seed: 14, numRuns: 300 },
    );
  });

  it('everything that stands against it is known in the sentence', () => {
    fc.assert(
      fc.property(facts(aspect), (f) => {
        const { departures, sentence, count } = standard.statement(f);
        for (const departure of departures) {
          const told =
            sentence.includes(departure) || / exceeds /.test(departure) || departure.includes('are required (');
          expect([departure, told]).toEqual([departure, true]);
        }
        if (f.tested && !count.met) expect(sentence).toContain(String(count.found));
      }),
      { seed: 12, numRuns: 300 },
    );
  });

  it('the accuracy of the survey never makes a result better', () => {
    fc.assert(
      fc.property(facts(aspect), tested(aspect), (f, points) => {
        const of = (surveyH: number, surveyV: number) =>
          Number.parseFloat(standard.statement({ ...f, tested: { ...points, surveyH, surveyV } }).class ?? '');
        const [good, poor] = [of(0, 0), of(0.1, 0.1)];
        if (Number.isFinite(good) && Number.isFinite(poor)) expect(poor).toBeGreaterThanOrEqual(good);
      }),
      { seed: 13, numRuns: 200 },
    );
  });
});
