import { describe, expect, it } from 'vitest';
import { scannerHeads } from '../../../src/checks/advice/scanner-heads.js';
import { pairFacts, passFacts } from './facts.js';

const pair = pairFacts('channel 0', 'channel 1', {
  failing: true,
  shift: [0.012, 0, -0.016],
  length: 0.02,
  std: 0.0004,
});

describe('scanner-heads', () => {
  it('names the distance between two heads when passes are scanner channels', () => {
    const advice = scannerHeads.advise(passFacts([pair], { by: 'scanner-channel' }))!;
    expect(advice.text).toContain('channel 0 and channel 1 lie 20.0 mm apart everywhere');
    expect(advice.text).toContain('mounting angles');
    expect(advice.figures.shift.value).toBe(0.02);
  });

  it('is quiet for passes of any other kind', () => {
    for (const by of ['point-source-id', 'file', 'gps-time-gap'] as const)
      expect(scannerHeads.advise(passFacts([pair], { by }))).toBeNull();
  });

  it('is quiet for heads that agree, or differ within three standard deviations', () => {
    const by = 'scanner-channel';
    expect(scannerHeads.advise(passFacts([{ ...pair, failing: false }], { by }))).toBeNull();
    expect(scannerHeads.advise(passFacts([{ ...pair, std: 0.007 }], { by }))).toBeNull();
    expect(scannerHeads.advise(passFacts([{ ...pair, length: null }], { by }))).toBeNull();
  });
});
