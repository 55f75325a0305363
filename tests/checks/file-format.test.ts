import { describe, expect, it } from 'vitest';
import type { Evidence } from '../../src/checks/contract/check.js';
import { fileFormat } from '../../src/checks/file-format.js';
import type { Header } from '../../src/cloud/header.js';
import type { DeliveredFile } from '../../src/delivery/delivery.js';
import { fileOf, judge, requirementOf } from './judge.js';

// Version, point format and scale: LAS 1.4 R15, public header block. Container: COPC 1.0, introduction: a COPC file is a LAZ
// 1.4 file. Metres in a foot: 0.3048 (international), 1200/3937 (US survey). The limits are literals of the test.

/** A file of LAS 1.4, point format 6, with scales of 0.001; `more` says what is otherwise. */
function file(name: string, header: Partial<Header> = {}, more: Partial<DeliveredFile> = {}): DeliveredFile {
  return { ...fileOf(name, 0, { header }), ...more };
}

function judgeFiles(options: Record<string, unknown>, ...files: DeliveredFile[]) {
  return judge(fileFormat, options, {}, { files: files.map((one, index) => ({ ...one, index })) });
}

function rowsOf(evidence: readonly Evidence[]) {
  return evidence.flatMap((part) => (part.kind === 'table' ? part.rows : []));
}

const WHOLE = { versions: ['1.4'], pointFormats: [6, 7], containers: ['LAS'], maxScale: 0.001 };

describe('file-format', () => {
  it('passes when every file is as agreed, a scale equal to the limit included', () => {
    const verdict = judgeFiles(WHOLE, file('a.las'), file('b.las', { pointFormat: 7 }));
    expect(verdict.state).toBe('pass');
    expect(verdict.measured).toEqual({ mismatches: { value: 0, unit: 'count' }, files: { value: 2, unit: 'count' } });
    expect(verdict.limits).toEqual({ mismatches: { value: 0, unit: 'count' } });
    expect(rowsOf(verdict.evidence)).toEqual([]);
  });

  it('names every odd file once, and each of its differences with what was agreed', () => {
    const odd = { versionMinor: 2, pointFormat: 1, scale: [0.001, 0.01, 0.002] as [number, number, number] };
    const verdict = judgeFiles(WHOLE, file('a.las'), file('b.laz', odd, { format: 'LAZ' }));
    expect(verdict.state).toBe('fail');
    expect(verdict.measured).toMatchObject({ mismatches: { value: 1 }, files: { value: 2 } });
    expect(rowsOf(verdict.evidence)).toEqual([
      ['b.laz', 'LAS version', '1.2', '1.4'],
      ['b.laz', 'point format', '1', '6 or 7'],
      ['b.laz', 'container', 'LAZ', 'LAS'],
      ['b.laz', 'horizontal scale', '0.01 m', 'at most 0.001 m'],
      ['b.laz', 'vertical scale', '0.002 m', 'at most 0.001 m'],
    ]);
    const places = verdict.evidence.flatMap((part) => (part.kind === 'locations' ? part.items : []));
    expect(places).toMatchObject([{ x: 5, y: 5, file: 'b.laz' }]);
    expect(places[0].note).toContain('LAS version 1.2, agreed 1.4; point format 1, agreed 6 or 7; container LAZ');
    expect(verdict.summary).toContain('1 file of 2 is not in the agreed format: b.laz (LAS version 1.2, agreed 1.4');
    expect(verdict.advice).toHaveLength(2);
  });

  it.each([
    [{ versions: ['1.2', '1.3'] }, 'LAS version'],
    [{ pointFormats: [0, 10] }, 'point format'],
    [{ containers: ['COPC'] }, 'container'],
    [{ maxScale: 0.0005 }, 'horizontal scale'],
  ])('judges nothing but what %j asks', (options, property) => {
    expect(rowsOf(judgeFiles(options, file('a.las')).evidence)[0][1]).toBe(property);
    const other = Object.keys(options)[0] === 'versions' ? { pointFormats: [6] } : { versions: ['1.4'] };
    expect(judgeFiles(other, file('a.las')).state).toBe('pass');
  });

  it.each([
    ['LAS', ['LAS'], 'pass'],
    ['LAZ', ['LAS', 'LAZ'], 'pass'],
    ['LAZ', ['COPC'], 'fail'],
    ['LAS', ['LAZ'], 'fail'],
    ['LAS', ['LAZ', 'COPC'], 'fail'],
    ['COPC', ['COPC'], 'pass'],
    ['COPC', ['LAZ'], 'pass'],
    ['COPC', ['LAS'], 'fail'],
  ] as const)('a %s file where %j is agreed: %s', (format, containers, state) => {
    expect(judgeFiles({ containers }, file('a', {}, { format })).state).toBe(state);
  });

  it('compares scales of feet in metres, each axis in its own unit', () => {
    const coarse = (horizontalUnit: number, heightUnit: number) =>
      rowsOf(
        judgeFiles({ maxScale: 0.003048 }, file('a.las', { scale: [0.01, 0.01, 0.01] }, { horizontalUnit, heightUnit }))
          .evidence,
      ).map((row) => row.slice(1, 3));
    expect(coarse(0.3048, 0.3048)).toEqual([]);
    // A US survey foot is longer by 2 parts in a million: 0.003048006 m.
    expect(coarse(1200 / 3937, 0.3048)).toEqual([['horizontal scale', '0.003048006 m']]);
    expect(coarse(0.3048, 1)).toEqual([['vertical scale', '0.01 m']]);
  });

  it('the sign of a scale does not count, and an unusable scale meets no limit', () => {
    const verdict = (x: number) => judgeFiles({ maxScale: 0.001 }, file('a.las', { scale: [x, 0.001, 0.001] }));
    expect(verdict(-0.001).state).toBe('pass');
    expect(verdict(-0.01).state).toBe('fail');
    for (const x of [0, Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY])
      expect(rowsOf(verdict(x).evidence)).toEqual([['a.las', 'horizontal scale', 'unusable', 'at most 0.001 m']]);
  });

  it('does not compare degrees with metres', () => {
    const [plain] = [file('a.las', { scale: [0.01, 0.01, 0.01] })];
    const horizontal = { ...plain.crs!.horizontal!, geographic: true };
    const degrees = { ...plain, crs: { ...plain.crs!, horizontal }, fault: 'coordinates are longitude and latitude' };
    expect(judgeFiles({ maxScale: 0.001 }, degrees).state).toBe('undetermined');
    expect(judgeFiles({ maxScale: 0.001 }, degrees, file('b.las')).state).toBe('undetermined');
    expect(rowsOf(judgeFiles({ maxScale: 0.001, versions: ['1.2'] }, degrees).evidence)).toHaveLength(1);
  });

  it('does not judge a file that could not be read, and says nothing when none could', () => {
    const unread = { ...fileOf('c.las', 0), header: null, crs: null, format: null, fault: 'not a cloud' };
    const verdict = judgeFiles(WHOLE, file('a.las'), unread);
    expect(verdict.measured).toMatchObject({ mismatches: { value: 0 }, files: { value: 1 } });
    expect(judgeFiles(WHOLE, file('a.las', { pointFormat: 3 }), unread).measured.mismatches.value).toBe(1);
    expect(judgeFiles(WHOLE, unread).state).toBe('undetermined');
    expect(judgeFiles(WHOLE).state).toBe('undetermined');
  });

  it.each([
    [{}],
    [{ versions: [] }],
    [{ versions: ['1.6'] }],
    [{ pointFormats: [11] }],
    [{ pointFormats: [6, 6] }],
    [{ containers: ['ZIP'] }],
    [{ maxScale: 0 }],
  ])('a spec that asks %j is refused', (options) => {
    expect(() => requirementOf({ check: 'file-format', ...options })).toThrow();
  });

  it('reads back in plain words', () => {
    const explain = (options: Record<string, unknown>) =>
      fileFormat.explain(requirementOf({ check: 'file-format', ...options }) as never);
    expect(explain({ ...WHOLE, containers: ['LAS', 'LAZ', 'COPC'] })).toBe(
      'Every file must have LAS version 1.4, point format 6 or 7, container LAS, LAZ or COPC, and horizontal and vertical scale at most 0.001 m.',
    );
    expect(explain({ pointFormats: [7] })).toBe('Every file must have point format 7.');
  });
});
