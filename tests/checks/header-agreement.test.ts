import { describe, expect, it } from 'vitest';
import { headerAgreement } from '../../src/checks/header-agreement.js';
import type { Recount } from '../../src/measure/header-recount.js';
import { fileOf, judge } from './judge.js';

function recount(more: Partial<Recount> = {}): Recount {
  return {
    file: 0,
    points: 100,
    raw: [0, 0, 0, 10_000, 10_000, 1000],
    byReturn: [0, 100, ...new Array<number>(14).fill(0)],
    gps: [100, 200],
    ...more,
  };
}

describe('header-agreement', () => {
  it('passes when the points say what the header says', () => {
    const verdict = judge(headerAgreement, {}, { recounts: [recount()] }, { files: [fileOf('a.las', 0)] });
    expect(verdict.state).toBe('pass');
    expect(verdict.measured).toMatchObject({ files: { value: 1 }, mismatches: { value: 0 } });
  });

  it.each([
    ['number of points', { points: 99 }],
    ['max X', { raw: [0, 0, 0, 10_002, 10_000, 1000] }],
    ['min Z', { raw: [0, 0, 2, 10_000, 10_000, 1000] }],
    ['points of return 1', { byReturn: [0, 98, 2, ...new Array<number>(13).fill(0)] }],
  ])('finds a wrong %s', (what, more) => {
    const verdict = judge(headerAgreement, {}, { recounts: [recount(more)] }, { files: [fileOf('a.las', 0)] });
    expect(verdict.state).toBe('fail');
    expect(JSON.stringify(verdict.evidence)).toContain(what);
    expect(verdict.summary).toContain('a.las');
  });

  it('allows one step of the scale: extents are often taken before coordinates are rounded', () => {
    const file = fileOf('a.las', 0, { header: { max: [10.0004, 10, 1] } });
    expect(judge(headerAgreement, {}, { recounts: [recount()] }, { files: [file] }).state).toBe('pass');
    const off = fileOf('a.las', 0, { header: { max: [10.0011, 10, 1] } });
    expect(judge(headerAgreement, {}, { recounts: [recount()] }, { files: [off] }).state).toBe('fail');
  });

  it('a scale of more decimals than a number can be written with is judged all the same', () => {
    const file = fileOf('a.las', 0, { header: { scale: [1e-150, 0.001, 0.001] } });
    const verdict = judge(headerAgreement, {}, { recounts: [recount()] }, { files: [file] });
    expect(verdict.state).toBe('fail');
    expect(JSON.stringify(verdict.evidence)).toContain('max X');
  });

  it('an empty file has zero extents (LAS 1.4 R16)', () => {
    const header = { pointCount: 0, pointsByReturn: new Array<number>(15).fill(0) };
    const honest = fileOf('e.las', 0, { header: { ...header, min: [0, 0, 0], max: [0, 0, 0] } });
    expect(judge(headerAgreement, {}, { recounts: [] }, { files: [honest] }).state).toBe('pass');
    expect(judge(headerAgreement, {}, { recounts: [] }, { files: [fileOf('e.las', 0, { header })] }).state).toBe(
      'fail',
    );
  });

  it('LAS 1.5 states the GPS-time range', () => {
    const file = fileOf('a.las', 0, { header: { versionMinor: 5, gpsTimeMin: 100, gpsTimeMax: 200.5 } });
    const verdict = judge(headerAgreement, {}, { recounts: [recount()] }, { files: [file] });
    expect(verdict.state).toBe('fail');
    expect(JSON.stringify(verdict.evidence)).toContain('max GPS time');
  });

  it('files that could not be read are not judged here, and nothing read is no evidence', () => {
    const broken = fileOf('b.las', 1, { fault: 'cut short' });
    expect(
      judge(headerAgreement, {}, { recounts: [recount()] }, { files: [fileOf('a.las', 0), broken] }).measured.files
        .value,
    ).toBe(1);
    expect(judge(headerAgreement, {}, { recounts: [] }, { files: [broken] }).state).toBe('undetermined');
  });
});
