import { describe, expect, it } from 'vitest';
import { onePassShifted } from '../../../src/checks/advice/one-pass-shifted.js';
import { pairFacts, passFacts } from './facts.js';

const bad = (a: string, b: string, length = 0.04) => pairFacts(a, b, { failing: true, length });

describe('one-pass-shifted', () => {
  it('names the pass that differs from all others, which agree', () => {
    const facts = passFacts([
      bad('source 1', 'source 2'),
      pairFacts('source 1', 'source 3'),
      bad('source 2', 'source 3', 0.042),
    ]);
    const advice = onePassShifted.advise(facts)!;
    expect(advice.text).toContain('source 2 differs from all 2 others it meets, by 40.0 mm to 42.0 mm');
    expect(advice.text).toContain('1 pair without it agrees');
  });

  it('is quiet where nobody knows: two passes, three that all differ, two bad ones of four', () => {
    expect(onePassShifted.advise(passFacts([bad('1', '2')]))).toBeNull();
    expect(onePassShifted.advise(passFacts([bad('1', '2'), bad('1', '3'), bad('2', '3')]))).toBeNull();
    const two = [bad('1', '2'), bad('1', '3'), bad('1', '4'), bad('2', '3'), bad('2', '4'), pairFacts('3', '4')];
    expect(onePassShifted.advise(passFacts(two))).toBeNull();
  });

  it('is quiet where a pass with only one neighbour differs', () => {
    expect(onePassShifted.advise(passFacts([bad('1', '2'), pairFacts('2', '3')]))).toBeNull();
  });
});
