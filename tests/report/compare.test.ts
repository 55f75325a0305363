import { describe, expect, test } from 'vitest';
import { compareReports, comparisonText } from '../../src/report/compare.js';
import { comparisonHtml } from '../../src/report/compare-page.js';
import type { Report } from '../../src/report/model.js';
import { everyElement, readMarkup } from './markup-reader.js';
import { acceptedQuayRoad, HOSTILE, quayRoad } from './sample.js';

function changed(change: (report: Report) => void): Report {
  const report = quayRoad();
  change(report);
  return report;
}
const names = (items: { name: string }[]) => items.map((item) => item.name);

describe('two reports', () => {
  const after = changed((report) => {
    const [accuracy, agreement, , voids] = report.requirements;
    accuracy.verdict = 'fail';
    accuracy.measured.rmse = 0.0213;
    agreement.verdict = 'pass';
    agreement.measured.rmsDz = 0.0052;
    voids.verdict = 'fail';
    report.requirements[5].verdict = 'not-applicable';
    report.requirements[6].verdict = 'pass';
    report.requirements.push({ ...accuracy, id: 'ACC-H', verdict: 'pass' });
    report.files[9].fault = null;
    report.files[0].fault = 'cannot be opened';
    report.files.pop();
    report.files.push({ ...report.files[0], file: 'extra.laz', fault: null });
  });
  const comparison = compareReports(quayRoad(), after);

  test('what is better, worse, new and removed', () => {
    expect(names(comparison.better)).toEqual(['REL-1', 'quay_565200_5934050.laz']);
    expect(names(comparison.worse)).toEqual(['ACC-V', 'quay_565100_5934000.laz']);
    expect(names(comparison.new)).toEqual(['TRJ-1', 'ACC-H', 'extra.laz']);
    expect(names(comparison.removed)).toEqual(['DUP-1', 'quay_565400_5934050.laz']);
    expect(names(comparison.unchanged).slice(0, 3)).toEqual(['DEN-1', 'VOID-1', 'PREC-1']);
    expect(comparison.unchanged[1]).toMatchObject({ before: 'undetermined', after: 'not met' });
  });

  test('nothing is in two lists and nothing is lost', () => {
    const all = [comparison.better, comparison.worse, comparison.unchanged, comparison.new, comparison.removed].flat();
    const keys = all.map((item) => `${item.kind} ${item.name}`);
    expect(new Set(keys).size).toBe(keys.length);
    const known = new Set(
      [quayRoad(), after].flatMap((r) => [
        ...r.requirements.map((q) => `requirement ${q.id}`),
        ...r.files.map((f) => `file ${f.file}`),
      ]),
    );
    expect(new Set(keys)).toEqual(known);
  });

  test('a report against itself has only unchanged parts', () => {
    const same = compareReports(quayRoad(), quayRoad());
    expect([same.better, same.worse, same.new, same.removed].flat()).toEqual([]);
    expect(same.sameSpec).toBe(true);
  });

  test('with the reports exchanged, better is worse and new is removed', () => {
    const back = compareReports(after, quayRoad());
    expect(names(back.better).sort()).toEqual(names(comparison.worse).sort());
    expect(names(back.removed).sort()).toEqual(names(comparison.new).sort());
  });

  test('as text', () => {
    const text = comparisonText(comparison);
    expect(text).toContain(
      '✗ Regressed (2)\n  ACC-V, Heights agree with the check points: met before, not met now\n    RMSE 14.2 mm before, 21.3 mm now (limit 20.0 mm)',
    );
    expect(text).toContain('✓ Fixed (2)');
    expect(text).toContain('quay_565200_5934050.laz: not fully read before, read completely now');
    for (const line of text.split('\n')) expect(line.length).toBeLessThanOrEqual(80);
  });

  test('another spec is said to be another', () => {
    const other = changed((report) => {
      report.spec.sha256 = '0'.repeat(64);
    });
    expect(comparisonText(compareReports(quayRoad(), other))).toContain('judged by different specs');
    expect(comparisonText(compareReports(quayRoad(), acceptedQuayRoad()))).toMatch(
      /^Verdict before: Rejected\. Now: Accepted\./,
    );
  });

  test('a tile names the requirements that are not met and have a place in it, before and now', () => {
    const tile = [...comparison.unchanged, ...comparison.better].find(
      (item) => item.name === 'quay_565250_5934000.laz',
    );
    expect(tile?.places).toEqual({ before: ['REL-1'], after: [] });
    const text = comparisonText(
      compareReports(
        quayRoad(),
        changed((report) => {
          report.requirements[1].verdict = 'pass';
          report.files[3].fault = 'cannot be opened';
        }),
      ),
      100,
    );
    expect(text).toContain('has places of requirements not met: REL-1 before, none now');
  });

  test('as a page: every requirement and file has its row, text stays text, nothing loads', () => {
    const html = comparisonHtml(comparison);
    const page = readMarkup(html, 'html');
    const rows = everyElement(page).filter((e) => e.tag === 'tr');
    const all = [comparison.better, comparison.worse, comparison.unchanged, comparison.new, comparison.removed].flat();
    expect(rows).toHaveLength(all.length + 2);
    expect(page.text).toContain(HOSTILE.file);
    expect(page.text).toContain('14.2 mm → 21.3 mm (limit 20.0 mm)');
    expect(html).toContain("default-src 'none'");
    expect(everyElement(page).filter((e) => e.tag === 'script')).toHaveLength(1);
    expect(everyElement(page).find((e) => e.tag === 'title')?.text).toBe('Comparison: Rejected before, Rejected now');
  });
});
