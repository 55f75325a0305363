import { describe, expect, test } from 'vitest';
import { decodeGrid } from '../../src/report/grid-code.js';
import { rampFor, rangeOf } from '../../src/report/html/viewer/ramps.js';
import type { GridResult } from '../../src/report/model.js';
import { quantity } from '../../src/report/quantity.js';
import { mayDoWithout } from './browser.js';
import { mapOf, readAt, usePage, viewOf } from './page-under-test.js';

const { report, open } = usePage();

describe.skipIf(mayDoWithout)('the map of the report page', () => {
  test('the map reads the values of report.json', async () => {
    const page = await open();
    await page.locator('#map-places').scrollIntoViewIfNeeded();
    await page.locator('#map-places').uncheck();
    await page.locator('#map-points').uncheck();
    const layers: [number, GridResult][] = [
      [0, report().requirements[1].grids[0]],
      [1, report().overview.density as GridResult],
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
    const passes = report().overview.passes as GridResult;
    await mapOf(page, 2);
    const { column, row, value } = decodeGrid(passes);
    for (const i of [0, 220, 349]) {
      const read = await readAt(page, column[i] + 0.5, row[i] + 0.5);
      const names = report().overview.passSets[value[i]].map((k) => report().passes[k].pass);
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
    const grid = report().requirements[1].grids[0];
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
    const point = report().surveyPoints[20];
    expect(await readAt(page, point.x, point.y)).toContain(`check point ${point.id}: dx`);
    const place = report().requirements[2].locations[0];
    expect(await readAt(page, place.x, place.y)).toContain('DEN-1: sparsest cell (112.0 points/m²)');
    expect(await readAt(page, 565120, 5934020)).toMatch(/quay_565100_5934000\.laz; zone carriageway$/);
  });

  test('a finding leads to its place on the map, and Escape leads back', async () => {
    const page = await open({ reducedMotion: 'no-preference' });
    await mapOf(page, 0);
    const [x0, y0] = await viewOf(page);
    const location = report().requirements[1].locations[0];
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
});
