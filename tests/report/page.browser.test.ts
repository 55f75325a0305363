import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { Browser, BrowserContextOptions, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, test } from 'vitest';
import { compareReports } from '../../src/report/compare.js';
import { comparisonHtml } from '../../src/report/compare-page.js';
import { decodeGrid } from '../../src/report/grid-code.js';
import { rampFor, rangeOf } from '../../src/report/html/viewer/ramps.js';
import { reportHtml } from '../../src/report/html.js';
import { reportJson } from '../../src/report/json.js';
import type { GridResult, Report } from '../../src/report/model.js';
import { quantity } from '../../src/report/quantity.js';
import { launchBrowser, mayDoWithout } from './browser.js';
import { pdfPages } from './pdf-text.js';
import { quayRoad } from './sample.js';

/** What the page under test is made from, as a reader of report.json has it. */
let report: Report;
let address: string;
let browser: Browser;
let folder: string;
/** Everything the page said or asked for that it should not have. */
let complaints: string[] = [];

async function open(options: BrowserContextOptions & { width?: number } = {}): Promise<Page> {
  const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, locale: 'en-GB', ...options });
  const page = await context.newPage();
  page.on('console', (message) => {
    // a hint about speed that reading pixels here in the test brings about
    if (message.text().includes('willReadFrequently')) return;
    if (message.type() === 'error' || message.type() === 'warning') complaints.push(message.text());
  });
  page.on('pageerror', (error) => complaints.push(error.message));
  page.on('request', (request) => {
    if (request.url() !== address) complaints.push(`request for ${request.url()}`);
  });
  await page.goto(address);
  return page;
}

/** Brings the map into view with a layer unpacked. */
async function mapOf(page: Page, layer: number) {
  const canvas = page.locator('#map-canvas');
  await canvas.scrollIntoViewIfNeeded();
  await page.locator('#map-layer').selectOption(String(layer));
  await page.waitForFunction((wanted) => {
    const data = document.getElementById('map-canvas')?.dataset;
    return data?.layer === wanted && data.view !== undefined;
  }, String(layer));
  return canvas;
}

/** Middle of the map in world metres, and pixels a metre, as the canvas tells. */
async function viewOf(page: Page): Promise<[number, number, number]> {
  const text = await page.locator('#map-canvas').getAttribute('data-view');
  return (text ?? '').split(' ').map(Number) as [number, number, number];
}

/** Points the mouse at a place of the world and gives what the map reads there. */
async function readAt(page: Page, x: number, y: number): Promise<string> {
  const box = await page.locator('#map-canvas').boundingBox();
  const [cx, cy, scale] = await viewOf(page);
  if (!box) throw new Error('the map is not shown');
  await page.mouse.move(box.x + box.width / 2 + (x - cx) * scale, box.y + box.height / 2 - (y - cy) * scale);
  return (await page.locator('#map-readout').textContent()) ?? '';
}

beforeAll(async () => {
  if (mayDoWithout) return;
  browser = await launchBrowser();
  folder = mkdtempSync(join(tmpdir(), 'report-page-'));
  writeFileSync(join(folder, 'report.json'), reportJson(quayRoad()));
  writeFileSync(join(folder, 'report.html'), reportHtml(quayRoad()));
  report = JSON.parse(readFileSync(join(folder, 'report.json'), 'utf8'));
  address = pathToFileURL(join(folder, 'report.html')).href;
});

afterAll(async () => {
  await browser?.close();
  if (folder) rmSync(folder, { recursive: true, force: true });
});

afterEach(async () => {
  const said = complaints;
  complaints = [];
  for (const context of browser?.contexts() ?? []) await context.close();
  expect(said).toEqual([]);
});

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

  test('the map reads the values of report.json', async () => {
    const page = await open();
    await page.locator('#map-places').scrollIntoViewIfNeeded();
    await page.locator('#map-places').uncheck();
    await page.locator('#map-points').uncheck();
    const layers: [number, GridResult][] = [
      [0, report.requirements[1].grids[0]],
      [1, report.overview.density as GridResult],
    ];
    for (const [layer, grid] of layers) {
      await mapOf(page, layer);
      const { column, row, value } = decodeGrid(grid);
      for (const i of [0, 77, 1234, 2345]) {
        const read = await readAt(page, (column[i] + 0.5) * grid.cell, (row[i] + 0.5) * grid.cell);
        const sign = grid.signed && value[i] > 0 ? '+' : '';
        expect(read).toContain(`; ${sign}${quantity(value[i], grid.unit)}`);
        if (grid.limit !== null)
          expect(read).toContain(Math.abs(value[i]) > grid.limit ? 'beyond the limit' : 'within the limit');
      }
    }
    const passes = report.overview.passes as GridResult;
    await mapOf(page, 2);
    const { column, row, value } = decodeGrid(passes);
    for (const i of [0, 220, 349]) {
      const read = await readAt(page, column[i] + 0.5, row[i] + 0.5);
      const names = report.overview.passSets[value[i]].map((k) => report.passes[k].pass);
      expect(read).toContain(`${names.length} ${names.length === 1 ? 'pass' : 'passes'}: ${names.join(', ')}`);
    }
  });

  test('the map paints what it reads: every cell in the colour of its value', async () => {
    const page = await open({ reducedMotion: 'reduce' });
    const canvas = await mapOf(page, 0);
    await page.locator('#map-places').scrollIntoViewIfNeeded();
    for (const name of ['tiles', 'zones', 'points', 'places']) await page.locator(`#map-${name}`).uncheck();
    await page.locator('#requirement-2 tr[data-x] button.fly').first().click();
    await page.waitForTimeout(150);
    const grid = report.requirements[1].grids[0];
    const head = { ...grid, owner: '', kind: 'values' as const, element: '' };
    const { column, row, value } = decodeGrid(grid);
    const { low, high } = rangeOf(value, head);
    const ramp = rampFor(head, low, high);
    const [vx, vy, scale] = await viewOf(page);
    expect(scale).toBeGreaterThan(10);
    // cells well inside the picture, away from the ring in its middle
    const near = [...value.keys()].filter((i) => {
      const away = Math.hypot(column[i] + 0.5 - vx, row[i] + 0.5 - vy);
      return away > 3 && away < 9;
    });
    expect(near.length).toBeGreaterThan(100);
    const painted = await canvas.evaluate(
      (element, places) => {
        const c = element as HTMLCanvasElement;
        const context = c.getContext('2d') as CanvasRenderingContext2D;
        return places.map(([dx, dy]) => {
          const at = [(c.clientWidth / 2 + dx) * devicePixelRatio, (c.clientHeight / 2 - dy) * devicePixelRatio];
          return [...context.getImageData(at[0], at[1], 1, 1).data].slice(0, 3);
        });
      },
      near.map((i) => [(column[i] + 0.5 - vx) * scale, (row[i] + 0.5 - vy) * scale]),
    );
    // pictures are painted from single precision
    expect(painted).toEqual(near.map((i) => [...ramp.colourOf(Math.fround(value[i]))]));
    expect(new Set(painted.map(String)).size).toBeGreaterThan(10);
  });

  test('marks are read where they stand: a survey point with its residual, a place with its requirement', async () => {
    const page = await open();
    await mapOf(page, 0);
    const point = report.surveyPoints[20];
    expect(await readAt(page, point.x, point.y)).toContain(`check point ${point.id}: dx`);
    const place = report.requirements[2].locations[0];
    expect(await readAt(page, place.x, place.y)).toContain('DEN-1: sparsest cell (112.0 points/m²)');
    expect(await readAt(page, 565120, 5934020)).toMatch(/quay_565100_5934000\.laz; zone carriageway$/);
  });

  test('a finding leads to its place on the map, and Escape leads back', async () => {
    const page = await open({ reducedMotion: 'no-preference' });
    await mapOf(page, 0);
    const [x0, y0] = await viewOf(page);
    const location = report.requirements[1].locations[0];
    const row = page.locator('#requirement-2 tr[data-x]').first();
    await row.locator('button.fly').click();
    await page.waitForFunction(
      ([x, y]) => {
        const view = document.getElementById('map-canvas')?.dataset.view?.split(' ').map(Number) ?? [];
        return Math.abs(view[0] - x) < 0.01 && Math.abs(view[1] - y) < 0.01;
      },
      [location.x, location.y],
    );
    const [x, y, scale] = await viewOf(page);
    expect([x, y]).not.toEqual([x0, y0]);
    expect(scale).toBeGreaterThan(5);
    expect(await page.evaluate(() => document.activeElement?.id)).toBe('map-canvas');
    expect(await page.locator('#map-canvas').evaluate((e) => e.getBoundingClientRect().top < innerHeight)).toBe(true);
    await page.keyboard.press('Escape');
    expect(await page.evaluate(() => document.activeElement?.className)).toBe('fly');
  });

  test('is steered by the keyboard: arrows, plus and minus, zero, Enter', async () => {
    const page = await open();
    const canvas = await mapOf(page, 1);
    await canvas.focus();
    const [x, y, scale] = await viewOf(page);
    const moved = async (key: string) => {
      await page.keyboard.press(key);
      await page.waitForTimeout(60);
      return viewOf(page);
    };
    const right = await moved('ArrowRight');
    expect(right[0]).toBeCloseTo(x + 60 / scale, 2);
    expect(right[1]).toBeCloseTo(y, 2);
    expect((await moved('ArrowUp'))[1]).toBeGreaterThan(y);
    expect((await moved('+'))[2]).toBeCloseTo(scale * 1.6, 2);
    expect((await moved('-'))[2]).toBeCloseTo(scale, 2);
    await page.keyboard.press('Enter');
    expect(await page.locator('#map-readout').textContent()).toContain('points/m²');
    await page.waitForFunction(() => document.getElementById('map-say')?.textContent?.includes('points/m²'));
    await page.keyboard.press('0');
    await page.waitForFunction(
      ([px, py]) => {
        const view = document.getElementById('map-canvas')?.dataset.view?.split(' ').map(Number) ?? [];
        return Math.abs(view[0] - px) < 0.01 && Math.abs(view[1] - py) < 0.01;
      },
      [x, y],
    );
  });

  test('the mouse drags the map; the wheel scrolls the page until the map is chosen', async () => {
    const page = await open();
    const canvas = await mapOf(page, 1);
    await page.evaluate(() => scrollTo(0, document.getElementById('map')?.offsetTop ?? 0));
    const box = await canvas.boundingBox();
    if (!box) throw new Error('no map');
    const [x, , scale] = await viewOf(page);
    await page.mouse.move(box.x + 300, box.y + 200);
    await page.mouse.wheel(0, -200);
    await page.waitForTimeout(80);
    expect((await viewOf(page))[2]).toBe(scale);
    const again = await canvas.boundingBox();
    if (!again) throw new Error('no map');
    await page.mouse.move(again.x + 300, again.y + 200);
    await page.mouse.down();
    await page.mouse.move(again.x + 350, again.y + 200, { steps: 4 });
    await page.mouse.up();
    await page.waitForTimeout(80);
    expect((await viewOf(page))[0]).toBeCloseTo(x - 50 / scale, 1);
    await canvas.focus();
    await page.mouse.wheel(0, -200);
    await page.waitForTimeout(80);
    expect((await viewOf(page))[2]).toBeGreaterThan(scale * 1.2);
  });

  test('one pass can be shown alone, and cells within the limit faded', async () => {
    const page = await open();
    const canvas = await mapOf(page, 2);
    const colour = async () => {
      const [cx, cy, scale] = await viewOf(page);
      return canvas.evaluate(
        (element, [x, y, vx, vy, s]) => {
          const c = element as HTMLCanvasElement;
          const unit = devicePixelRatio;
          const context = c.getContext('2d') as CanvasRenderingContext2D;
          const px = (c.clientWidth / 2 + (x - vx) * s) * unit;
          const py = (c.clientHeight / 2 - (y - vy) * s) * unit;
          return [...context.getImageData(px, py, 1, 1).data].slice(0, 3).join(' ');
        },
        [565440.5, 5934003.5, cx, cy, scale] as const,
      );
    };
    const all = await colour();
    await page.locator('#map-pass').selectOption({ label: 'source 11' });
    await page.waitForTimeout(80);
    // the eastern strip was seen by source 12 only
    expect(await colour()).not.toBe(all);
    await page.locator('#map-pass').selectOption({ label: 'source 12' });
    await page.waitForTimeout(80);
    expect(await colour()).toBe(all);
  });

  test('tables sort by value, both ways, cells without a value last', async () => {
    const page = await open();
    const table = page.locator('table.data', {
      has: page.locator('caption', { hasText: 'Residuals at survey points' }),
    });
    const ids = () => table.locator('tbody tr th').evaluateAll((cells) => cells.map((c) => c.firstChild?.textContent));
    const byDz = [...report.surveyPoints].filter((p) => p.dz !== null).sort((a, b) => (a.dz ?? 0) - (b.dz ?? 0));
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
    const dz = ((report.surveyPoints[0].dz ?? 0) * 1000).toFixed(1).replace('.', ',');
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
    const points = new Intl.NumberFormat(locale).format(report.delivery.points);
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
    for (const { id } of report.requirements) expect(pages[0] + pages[1]).toContain(id);
    expect(pages.join(' ')).toContain('Height of source 12 over source 11 (REL-1)');
    expect(pages.join(' ')).toContain('Signature');
    expect(pages.join(' ')).not.toContain('Copy as CSV');
    expect(await page.locator('#printed-maps canvas').count()).toBe(0);
  });

  test('the comparison of two reports opens as quietly, and its tables sort', async () => {
    const other = join(folder, 'comparison.html');
    const before = quayRoad();
    before.requirements[1].verdict = 'pass';
    writeFileSync(other, comparisonHtml(compareReports(before, quayRoad())));
    const home = address;
    address = pathToFileURL(other).href;
    const page = await open();
    address = home;
    expect(await page.locator('.table-box tbody tr').first().textContent()).toContain('✗ broken');
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
