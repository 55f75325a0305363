import { describe, expect, it } from 'vitest';
import { areHeads, isOneDrive, labelForPass, passRuleWords, refuseTooManyPasses } from '../../src/delivery/passes.js';
import { PASS_CRITERIA } from '../../src/spec/acceptance-spec.js';

const files = [
  { index: 0, name: 'a.las' },
  { index: 1, name: 'b.las' },
];

describe('what a pass is called', () => {
  it('by rule', () => {
    expect(labelForPass({ by: ['point-source-id'] }, 12, files)).toBe('source 12');
    expect(labelForPass({ by: ['file'] }, 1, files)).toBe('b.las');
    expect(labelForPass({ by: ['file'] }, 7, files)).toBe('file 8');
    expect(labelForPass({ by: ['scanner-channel'] }, 1, files)).toBe('channel 1');
    expect(labelForPass({ by: ['gps-time-gap'], gap: 5 }, 2, files)).toBe('drive 3');
    expect(labelForPass({ by: ['gps-time-gap'], gap: 5 }, 1, files, [0, 70])).toBe('drive 2, from GPS time 70.0 s');
  });

  it('by several criteria', () => {
    const heads = ['point-source-id', 'scanner-channel'] as const;
    // key = key * radix + value, with 65536 source IDs, as many drives as there are, and 4 scanner channels
    expect(labelForPass({ by: heads }, 65_535 * 4 + 3, files)).toBe('source 65535, channel 3');
    const all = { by: PASS_CRITERIA.filter((criterion) => criterion !== 'trajectory'), gap: 5 };
    const key = ((1 * 65_536 + 12) * 2 + 1) * 4 + 1;
    expect(labelForPass(all, key, files, [0, 70])).toBe('b.las, source 12, drive 2, from GPS time 70.0 s, channel 1');
    expect(passRuleWords(all)).toBe('file, point-source-id, gps-time-gap of 5 s and scanner-channel');
  });
});

describe('scanner heads', () => {
  it('of one drive differ in the channel alone', () => {
    const rule = { by: ['point-source-id', 'scanner-channel'] as const };
    const key = (source: number, channel: number) => source * 4 + channel;
    expect(isOneDrive(rule, key(7, 0), key(7, 1))).toBe(true);
    expect(isOneDrive(rule, key(7, 1), key(8, 1))).toBe(false);
    // By channel alone, all drives of a head are one pass; by source alone, nothing is known of heads.
    expect(isOneDrive({ by: ['scanner-channel'] }, 0, 1)).toBe(false);
    expect(areHeads({ by: ['scanner-channel'] }, 0, 1)).toBe(true);
    expect(areHeads({ by: ['point-source-id'] }, 0, 1)).toBe(false);
  });
});

describe('more keys than there is room for', () => {
  it('are refused before anything is measured', () => {
    const by = ['file', 'point-source-id', 'scanner-channel'] as const;
    // 2^31 keys of 32-bit signed integers: 8192 files of 65536 source IDs and 4 channels
    expect(() => refuseTooManyPasses({ by }, 8192, 1)).not.toThrow();
    expect(() => refuseTooManyPasses({ by }, 8193, 1)).toThrow(/8193 files/);
  });
});
