import { describe, expect, it } from 'vitest';
import { singleBlunder } from '../../../src/checks/advice/single-blunder.js';
import { blunderFacts } from '../../../src/checks/advice/survey-facts.js';

const others = (n: number) => Array.from({ length: n }, (_, i) => ({ difference: i % 2 === 0 ? 0.004 : -0.002 }));

describe('single-blunder', () => {
  it('names the one point, its size and how well the others agree', () => {
    const advice = singleBlunder.advise(blunderFacts([{ id: 'CP18', difference: -0.3226 }], others(32)))!;
    expect(advice.text).toContain('Only CP18 stands out, by 322.6 mm, while the other 32 points scatter by 3.0 mm');
    expect(advice.figures).toMatchObject({ size: { value: 0.3226, unit: 'm' }, others: { value: 32 } });
  });

  it('is quiet for two blunders, for none, and where there are hardly others', () => {
    const bad = { id: 'A', difference: 1 };
    expect(singleBlunder.advise(blunderFacts([bad, { id: 'B', difference: 1 }], others(30)))).toBeNull();
    expect(singleBlunder.advise(blunderFacts([], others(30)))).toBeNull();
    expect(singleBlunder.advise(blunderFacts([bad], others(3)))).toBeNull();
    expect(singleBlunder.advise(blunderFacts([bad], others(4)))).not.toBeNull();
  });
});
