import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { Browser, BrowserContextOptions, Locator, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, expect } from 'vitest';
import { reportHtml } from '../../src/report/html.js';
import { reportJson } from '../../src/report/json.js';
import type { Report } from '../../src/report/model.js';
import { launchBrowser, mayDoWithout } from './browser.js';
import { quayRoad } from './sample.js';

/** A page in a browser, the report.json it was made from, and everything it said or asked for that it should not have. */
export interface PageUnderTest {
  /** What a reader of report.json has; there once tests run. */
  report(): Report;
  folder(): string;
  /** Opens the report page, or another page of the folder. */
  open(options?: BrowserContextOptions, file?: string): Promise<Page>;
}

/** Sets up a browser and the sample's page for the tests of a file; after each test the page must have been quiet. */
export function usePage(): PageUnderTest {
  let report: Report;
  let browser: Browser | undefined;
  let folder = '';
  let complaints: string[] = [];

  beforeAll(async () => {
    if (mayDoWithout) return;
    browser = await launchBrowser();
    folder = mkdtempSync(join(tmpdir(), 'report-page-'));
    writeFileSync(join(folder, 'report.json'), reportJson(quayRoad()));
    writeFileSync(join(folder, 'report.html'), reportHtml(quayRoad()));
    report = JSON.parse(readFileSync(join(folder, 'report.json'), 'utf8'));
  });

  afterEach(async () => {
    const said = complaints;
    complaints = [];
    for (const context of browser?.contexts() ?? []) await context.close();
    expect(said).toEqual([]);
  });

  afterAll(async () => {
    await browser?.close();
    if (folder) rmSync(folder, { recursive: true, force: true });
  });

  return {
    report: () => report,
    folder: () => folder,
    async open(options = {}, file = 'report.html') {
      if (!browser) throw new Error('the browser was not started');
      const address = pathToFileURL(join(folder, file)).href;
      const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, locale: 'en-GB', ...options });
      const page = await context.newPage();
      page.on('console', (message) => {
        // a hint about speed that reading pixels in a test brings about
        if (message.text().includes('willReadFrequently')) return;
        if (message.type() === 'error' || message.type() === 'warning') complaints.push(message.text());
      });
      page.on('pageerror', (error) => complaints.push(error.message));
      page.on('request', (request) => {
        if (request.url() !== address) complaints.push(`request for ${request.url()}`);
      });
      await page.goto(address);
      return page;
    },
  };
}

/** Brings the map into view with a layer unpacked. */
export async function mapOf(page: Page, layer: number): Promise<Locator> {
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
export async function viewOf(page: Page): Promise<[number, number, number]> {
  const text = await page.locator('#map-canvas').getAttribute('data-view');
  return (text ?? '').split(' ').map(Number) as [number, number, number];
}

/** Points the mouse at a place of the world and gives what the map reads there. */
export async function readAt(page: Page, x: number, y: number): Promise<string> {
  const box = await page.locator('#map-canvas').boundingBox();
  const [cx, cy, scale] = await viewOf(page);
  if (!box) throw new Error('the map is not shown');
  await page.mouse.move(box.x + box.width / 2 + (x - cx) * scale, box.y + box.height / 2 - (y - cy) * scale);
  return (await page.locator('#map-readout').textContent()) ?? '';
}
