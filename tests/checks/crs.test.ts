import { describe, expect, it } from 'vitest';
import { crs } from '../../src/checks/crs.js';
import { fileOf, judge } from './judge.js';

const UTM33 = { name: 'ETRS89 / UTM zone 33N', epsg: 25833, unit: { name: 'metre', metres: 1 }, geographic: false };

describe('crs', () => {
  it('passes when every file states the agreed system', () => {
    const declaredCrs = { horizontal: 'EPSG:25832', vertical: 'EPSG:5799', unit: 'metre' };
    const verdict = judge(crs, {}, {}, { files: [fileOf('a.las', 0), fileOf('b.las', 1)], declaredCrs });
    expect(verdict.state).toBe('pass');
    expect(verdict.measured.files.value).toBe(2);
  });

  it('finds the file that states another one', () => {
    const files = [fileOf('a.las', 0), fileOf('b.las', 1, { crs: { horizontal: UTM33 } })];
    const verdict = judge(crs, {}, {}, { files });
    expect(verdict.state).toBe('fail');
    expect(verdict.summary).toContain('states EPSG:25833, not EPSG:25832 (b.las)');
    expect(verdict.measured.mismatches.value).toBe(1);
  });

  it('most files decide, whatever their names; the spec decides before them', () => {
    const odd = fileOf('a.las', 0, { crs: { horizontal: UTM33 } });
    const files = [odd, fileOf('b.las', 1), fileOf('c.las', 2)];
    const verdict = judge(crs, {}, {}, { files });
    expect(verdict.measured.mismatches.value).toBe(1);
    expect(verdict.summary).toContain('states EPSG:25833, not EPSG:25832 (a.las)');
    const declaredCrs = { horizontal: 'EPSG:25833', vertical: null, unit: null };
    expect(judge(crs, {}, {}, { files, declaredCrs }).measured.mismatches.value).toBe(2);
  });

  it('of as many files of either system the report asks the spec to decide', () => {
    const files = [fileOf('a.las', 0, { crs: { horizontal: UTM33 } }), fileOf('b.las', 1)];
    expect(judge(crs, {}, {}, { files }).advice.join(' ')).toContain('As many files state EPSG:25832 as EPSG:25833');
  });

  it('absent, unreadable and mismatching are three things', () => {
    const absent = judge(crs, {}, {}, { files: [fileOf('a.las', 0, { crs: { horizontal: null, vertical: null } })] });
    expect(absent.summary).toContain('states no coordinate system');
    const unreadable = fileOf('a.las', 0, {
      crs: { horizontal: null, vertical: null, problems: ['the WKT text cannot be read'] },
    });
    expect(judge(crs, {}, {}, { files: [unreadable] }).summary).toContain('cannot be read');
  });

  it('asks for a height system unless told otherwise', () => {
    const files = [fileOf('a.las', 0, { crs: { vertical: null } })];
    expect(judge(crs, {}, {}, { files }).state).toBe('fail');
    expect(judge(crs, { requireVertical: false }, {}, { files }).state).toBe('pass');
  });

  it('tells the international foot from the US survey foot', () => {
    const foot = (name: string, metres: number) =>
      fileOf('a.las', 0, { crs: { horizontal: { ...UTM33, unit: { name, metres } } } });
    const declaredCrs = { horizontal: null, vertical: null, unit: 'us-survey-foot' };
    expect(judge(crs, {}, {}, { files: [foot('US survey foot', 1200 / 3937)], declaredCrs }).state).toBe('pass');
    expect(judge(crs, {}, {}, { files: [foot('foot', 0.3048)], declaredCrs }).state).toBe('fail');
  });

  it('without a readable header nothing can be said', () => {
    const file = { ...fileOf('a.las', 0), header: null, crs: null, fault: 'not a cloud' };
    expect(judge(crs, {}, {}, { files: [file] }).state).toBe('undetermined');
    expect(judge(crs, {}, {}, { files: [fileOf('b.las', 1), file] }).state).toBe('undetermined');
  });
});
