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

  it('by GPS time of day, from seconds of the week', () => {
    // Two days, 10 h 02 min 11.9 s and 10 h 07 min 40.1 s into the week.
    const times = { begin: 2 * 86400 + 36131.9, end: 2 * 86400 + 36460.1, adjusted: false };
    expect(labelForPass({ by: 'gps-time-gap', gap: 5 }, 0, files, times)).toBe('10:02:11 to 10:07:40');
  });

  it('by GPS time of day, from adjusted standard GPS time, which is zero at 2011-09-14 01:46:40 GPS', () => {
    // 1e9 s after the GPS epoch 1980-01-06 00:00:00, by the calendar of the platform, which has no leap seconds either.
    const zero = new Date(Date.UTC(1980, 0, 6) + 1e12).toISOString().slice(11, 19);
    const times = { begin: 0, end: -1, adjusted: true };
    expect(labelForPass({ by: 'gps-time-gap', gap: 5 }, 0, files, times)).toBe(`${zero} to 01:46:39`);
    expect(zero).toBe('01:46:40');
  });
});
