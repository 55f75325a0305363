import { describe, expect, it } from 'vitest';
import { scannerHeads } from '../../../src/checks/advice/scanner-heads.js';
import { pairFacts, passFacts } from './facts.js';

const pair = pairFacts('channel 0', 'channel 1', {
  heads: true,
  failing: true,
  shift: [0.012, 0, -0.016],
  length: 0.02,
  std: 0.0004,
});

describe('scanner-heads', () => {
  it('names the distance between two heads when two passes differ in the scanner channel alone', () => {
    const advice = scannerHeads.advise(passFacts([pair]))!;
    expect(advice.text).toContain('channel 0 and channel 1 lie 20.0 mm apart everywhere');
    expect(advice.text).toContain('mounting angles');
    expect(advice.figures.shift.value).toBe(0.02);
  });

  it('is quiet for passes of any other kind', () => {
    expect(scannerHeads.advise(passFacts([{ ...pair, heads: false }]))).toBeNull();
  });

  it('is quiet for heads that agree, or differ within three standard deviations', () => {
    expect(scannerHeads.advise(passFacts([{ ...pair, failing: false }]))).toBeNull();
    expect(scannerHeads.advise(passFacts([{ ...pair, std: 0.007 }]))).toBeNull();
    expect(scannerHeads.advise(passFacts([{ ...pair, length: null }]))).toBeNull();
  });
});
