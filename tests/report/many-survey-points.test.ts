import { expect, test } from 'vitest';
import { reportHtml } from '../../src/report/html.js';
import { quayRoad } from './sample.js';

/** The page of a report with so many survey points; the differences grow from one point to the next. */
function pageOf(count: number): string {
  const report = quayRoad();
  const [first] = report.surveyPoints;
  const surveyPoints = Array.from({ length: count }, (_, k) => ({ ...first, id: `Q${k}`, dz: k * 1e-6 }));
  return reportHtml({ ...report, surveyPoints });
}

const countOf = (text: string, what: RegExp) => [...text.matchAll(what)].length;

test('ten times the survey points make no larger page: the worst are shown, and the page says so', () => {
  const [some, many] = [pageOf(3000), pageOf(30_000)];
  for (const page of [some, many]) {
    // Rows of the table, marks of the plan, and points of the map.
    expect(countOf(page, /<th scope="row">Q\d+<\/th>/g)).toBe(1000);
    expect(countOf(page, /<title>Q\d+<\/title>/g)).toBeLessThanOrEqual(1000 + 400);
    expect(countOf(page, /"id":"Q\d+"/g)).toBe(2000);
  }
  expect(many).toContain('<th scope="row">Q29999</th>');
  expect(many).not.toContain('<th scope="row">Q0</th>');
  expect(many).toContain('all 30,000 are in report.json');
  expect(many.length).toBeLessThan(some.length * 1.05);
});
