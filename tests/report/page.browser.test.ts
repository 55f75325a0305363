import { readFileSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import type { BrowserContextOptions } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { compareReports } from '../../src/report/compare.js';
import { comparisonHtml } from '../../src/report/compare-page.js';
import { mayDoWithout } from './browser.js';
import { mapOf, usePage } from './page-under-test.js';
import { pdfPages } from './pdf-text.js';
import { quayRoad } from './sample.js';

const { report, folder, open } = usePage();

describe.skipIf(mayDoWithout)('the report page in a browser', () => {
  test('opens without an error and asks for nothing else', async () => {
    const page = await open();
    await mapOf(page, 0);
    expect(await page.locator('.verdict .word').textContent()).toContain('Rejected');
    expect(await page.locator('#map').isVisible()).toBe(true);
    expect(await page.locator('.plan-still').isVisible()).toBe(false);
  });

  test('is complete without scripts: the drawing stands in for the map', async () => {
    const page = await open({ javaScriptEnabled: false });
    expect(await page.locator('#map').isVisible()).toBe(false);
    expect(await page.locator('.plan-still svg').isVisible()).toBe(true);
    expect(await page.locator('button:visible').count()).toBe(0);
  });

  test('tables sort by value, both ways, cells without a value last', async () => {
    const page = await open();
    const table = page.locator('table.data', {
      has: page.locator('caption', { hasText: 'Residuals at survey points' }),
    });
    const ids = () => table.locator('tbody tr th').evaluateAll((cells) => cells.map((c) => c.firstChild?.textContent));
    const byDz = [...report().surveyPoints].filter((p) => p.dz !== null).sort((a, b) => (a.dz ?? 0) - (b.dz ?? 0));
    const head = table.locator('thead th', { hasText: /^dz mm$/ });
    await head.locator('button').click();
    expect(await head.getAttribute('aria-sort')).toBe('ascending');
    expect((await ids()).slice(0, byDz.length)).toEqual(byDz.map((p) => p.id));
    expect((await ids()).slice(-1)).toEqual(['CP31']);
    await head.locator('button').click();
    expect(await head.getAttribute('aria-sort')).toBe('descending');
    expect((await ids())[0]).toBe('CP18');
    expect((await ids()).slice(-1)).toEqual(['CP31']);
  });

  test('tables filter, and copy what is shown', async () => {
    const page = await open({ locale: 'de-DE' });
    await page.evaluate(() => {
      Object.defineProperty(navigator, 'clipboard', {
        value: {
          writeText: async (text: string) => {
            document.documentElement.dataset.copied = text;
          },
        },
      });
    });
    const box = page.locator('.table-box', { has: page.locator('caption', { hasText: 'Residuals at survey points' }) });
    await box.locator('input[type=search]').fill('GCP0');
    expect(await box.locator('tbody tr:visible').count()).toBe(3);
    expect(await box.locator('.table-tools').textContent()).toContain('3 of 36');
    await box.locator('button', { hasText: 'Copy as CSV' }).click();
    await page.waitForFunction(() => document.documentElement.dataset.copied);
    const copied = await page.evaluate(() => document.documentElement.dataset.copied ?? '');
    const lines = copied.trim().split('\r\n');
    expect(lines).toHaveLength(4);
    expect(lines[0]).toMatch(/^Point;Role;Status;dz mm;/);
    const dz = ((report().surveyPoints[0].dz ?? 0) * 1000).toFixed(1).replace('.', ',');
    expect(lines[1]).toContain(`GCP01;control;used;${dz};`);
    expect(lines[1]).toMatch(/;565108,123;/);
  });

  test.each([
    ['de-DE', '14,2 mm', '+9,4'],
    ['da-DK', '14,2 mm', '+9,4'],
    ['fr-FR', '14,2 mm', '+9,4'],
    ['en-GB', '14.2 mm', '+9.4'],
  ])('numbers are written as in %s', async (locale, rmse, dz) => {
    const page = await open({ locale });
    // the browser's own way of writing the number is the measure
    const points = new Intl.NumberFormat(locale).format(report().delivery.points);
    expect(await page.locator('.verdict').textContent()).toContain(points);
    expect(await page.locator('table.overview').textContent()).toContain(rmse);
    expect(await page.locator('#survey-points ~ .table-box').first().textContent()).toContain(dz);
    expect(await page.locator('.command').textContent()).toContain('quay-road.json');
  });

  test('prints to A4 with the verdict, every requirement and the limits on page one or two, the map in pictures', async () => {
    const page = await open();
    await mapOf(page, 0);
    await page.waitForFunction(() => document.getElementById('map-canvas')?.dataset.ahead === 'done');
    const pages = pdfPages(await page.pdf({ preferCSSPageSize: true, printBackground: true }));
    expect(pages.length).toBeGreaterThan(3);
    expect(pages[0]).toContain('Rejected');
    expect(pages[0]).toContain('Quay road as-built capture');
    for (const { id } of report().requirements) expect(pages[0] + pages[1]).toContain(id);
    expect(pages.join(' ')).toContain('Height of source 12 over source 11 (REL-1)');
    expect(pages.join(' ')).toContain('Signature');
    expect(pages.join(' ')).not.toContain('Copy as CSV');
    expect(await page.locator('#printed-maps canvas').count()).toBe(0);
  });

  test('the comparison of two reports opens as quietly, and its tables sort', async () => {
    const before = quayRoad();
    before.requirements[1].verdict = 'pass';
    writeFileSync(join(folder(), 'comparison.html'), comparisonHtml(compareReports(before, quayRoad())));
    const page = await open({}, 'comparison.html');
    expect(await page.locator('.table-box tbody tr').first().textContent()).toContain('✗ regressed');
    const head = page.locator('thead th', { hasText: 'File' });
    await head.locator('button').click();
    await head.locator('button').click();
    const files = await page.locator('.table-box').nth(1).locator('tbody tr td:nth-child(2)').allTextContents();
    expect(files).toEqual([...files].sort((a, b) => b.localeCompare(a, 'en', { numeric: true })));
  });

  describe('accessible by the rules of axe-core, WCAG 2.2 A and AA', () => {
    const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

    const everything = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
    // dark and narrow pages are the same elements: there only the rules that colour and width can break
    test.each<[string, BrowserContextOptions, string[] | { type: 'rule'; values: string[] }]>([
      ['light', { colorScheme: 'light' }, everything],
      ['dark', { colorScheme: 'dark' }, { type: 'rule', values: ['color-contrast', 'link-in-text-block'] }],
      [
        'on a telephone',
        { viewport: { width: 390, height: 800 } },
        { type: 'rule', values: ['target-size', 'scrollable-region-focusable', 'meta-viewport', 'label'] },
      ],
    ])('%s', async (_, options, rules) => {
      const page = await open(options);
      await mapOf(page, 0);
      await page.evaluate(() => {
        for (const part of document.querySelectorAll('details')) part.open = true;
      });
      // axe judges colours as shown; the page's policy forbids it to be put into the page, so it is run beside it
      await page.evaluate(axe);
      const violations = await page.evaluate(async (runOnly) => {
        const runner = (globalThis as unknown as { axe: { run(options: object): Promise<{ violations: object[] }> } })
          .axe;
        const result = await runner.run({ runOnly });
        return (result.violations as { id: string; nodes: { html: string; failureSummary: string }[] }[]).map((v) => ({
          id: v.id,
          first: v.nodes[0].html.slice(0, 200),
          why: v.nodes[0].failureSummary,
          count: v.nodes.length,
        }));
      }, rules);
      expect(violations).toEqual([]);
    });
  });
});
