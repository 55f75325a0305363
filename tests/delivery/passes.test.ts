import { describe, expect, it } from 'vitest';
import { labelForPass } from '../../src/delivery/passes.js';

const files = [
  { index: 0, name: 'a.las' },
  { index: 1, name: 'b.las' },
];

describe('what a pass is called', () => {
  it('by rule', () => {
    expect(labelForPass({ by: 'point-source-id' }, 12, files)).toBe('source 12');
    expect(labelForPass({ by: 'file' }, 1, files)).toBe('b.las');
    expect(labelForPass({ by: 'file' }, 7, files)).toBe('file 8');
    expect(labelForPass({ by: 'scanner-channel' }, 1, files)).toBe('channel 1');
    expect(labelForPass({ by: 'gps-time-gap', gap: 5 }, 2, files)).toBe('drive 3');
  });
});
