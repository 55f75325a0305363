/// <reference lib="dom" />

import { drawLegend, legendWords } from './legend.js';
import type { Layers } from './map-layers.js';
import { drawMarks, drawTileGround, type Palette, type Sheet, type Shown } from './marks.js';
import { inReaderMarks } from './numbers.js';
import type { Drawing, Painter } from './painter.js';
import type { MapData } from './payload.js';
import { nearestMark, readPlace } from './place-reading.js';
import { between, fitView, panBy, type Size, toScreen, toWorld, type View, zoomAt } from './view.js';

/** Largest distance between the pointer and a mark that is read, pixels. */
const REACH = 10;
const FLIGHT_MS = 500;

/** The map: what is shown, and how it is drawn. controls.ts connects it to the controls. */
export class MapView {
  readonly canvas: HTMLCanvasElement;
  readonly data: MapData;
  readonly layers: Layers;
  readonly shown: Shown = { tiles: true, zones: true, points: true, places: true };
  readonly drawing: Drawing = { coarse: 'mean', beyondOnly: false };
  layer = -1;
  view: View;
  /** Whether a cross marks the centre, which it does while keys move the map. */
  cross = false;
  /** The place that a button of a table shows; a circle is drawn around it. */
  target: { x: number; y: number } | null = null;
  #frame = 0;
  #flight = 0;

  constructor(canvas: HTMLCanvasElement, data: MapData, layers: Layers) {
    this.canvas = canvas;
    this.data = data;
    this.layers = layers;
    this.view = { x: 0, y: 0, scale: 1 };
    this.resize();
    this.view = fitView(data.extent, this.size);
  }

  /** Size in pixels of the page; the canvas has `unit` times as many each way. */
  get size(): Size {
    return { width: this.canvas.clientWidth, height: this.canvas.clientHeight };
  }

  get unit(): number {
    return window.devicePixelRatio || 1;
  }

  get painter(): Painter | null {
    return this.layers.ready(this.layer);
  }

  resize(): void {
    this.canvas.width = Math.max(1, Math.round(this.canvas.clientWidth * this.unit));
    this.canvas.height = Math.max(1, Math.round(this.canvas.clientHeight * this.unit));
    this.redraw();
  }

  redraw(): void {
    if (this.#frame === 0) {
      this.#frame = requestAnimationFrame(() => {
        this.#frame = 0;
        this.drawNow();
      });
    }
  }

  drawNow(): void {
    const { unit, view } = this;
    const sheet: Sheet = {
      context: this.canvas.getContext('2d') as CanvasRenderingContext2D,
      view: { ...view, scale: view.scale * unit },
      size: { width: this.canvas.width, height: this.canvas.height },
      unit,
      palette: paletteOf(document.documentElement),
    };
    drawSheet(sheet, this.data, this.painter, this.drawing, this.shown);
    this.#drawPointers(sheet);
    this.canvas.dataset.view = [view.x.toFixed(3), view.y.toFixed(3), view.scale.toPrecision(6)].join(' ');
  }

  fit(): void {
    this.flyTo(fitView(this.data.extent, this.size));
  }

  pan(dx: number, dy: number): void {
    this.#land();
    this.view = panBy(this.view, dx, dy);
    this.redraw();
  }

  zoom(factor: number, px = this.size.width / 2, py = this.size.height / 2): void {
    this.#land();
    this.view = zoomAt(this.view, this.size, px, py, factor);
    this.redraw();
  }

  /** Shows a place with `reach` metres around it, and draws a circle around the place. */
  show(x: number, y: number, reach: number): void {
    this.target = { x, y };
    this.flyTo(fitView([x - reach, y - reach, x + reach, y + reach], this.size, 0));
  }

  flyTo(to: View): void {
    this.#land();
    if (matchMedia('(prefers-reduced-motion: reduce)').matches) {
      this.view = to;
      this.redraw();
      return;
    }
    const from = this.view;
    const started = performance.now();
    const step = (now: number) => {
      const share = Math.min(1, Math.max(0, (now - started) / FLIGHT_MS));
      this.view = share === 1 ? to : between(from, to, share * share * (3 - 2 * share));
      this.drawNow();
      this.#flight = share < 1 ? requestAnimationFrame(step) : 0;
    };
    this.#flight = requestAnimationFrame(step);
  }

  /** What the map has at a pixel of the page, in words. */
  readAt(px: number, py: number): string {
    const [x, y] = toWorld(this.view, this.size, px, py);
    const mark = nearestMark(this.data, this.shown, x, y, REACH / this.view.scale);
    const place = readPlace(this.data, this.painter?.raster ?? null, x, y);
    return inReaderMarks(mark === null ? place : `${mark}; ${place}`);
  }

  #land(): void {
    cancelAnimationFrame(this.#flight);
    this.#flight = 0;
  }

  #drawPointers({ context, view, size, unit, palette }: Sheet): void {
    context.lineWidth = 2.5 * unit;
    context.strokeStyle = palette.ink;
    if (this.target) {
      const [x, y] = toScreen(view, size, this.target.x, this.target.y);
      context.beginPath();
      context.arc(x, y, 16 * unit, 0, 2 * Math.PI);
      context.stroke();
    }
    if (!this.cross) return;
    const [x, y, arm] = [size.width / 2, size.height / 2, 12 * unit];
    context.beginPath();
    context.moveTo(x - arm, y);
    context.lineTo(x + arm, y);
    context.moveTo(x, y - arm);
    context.lineTo(x, y + arm);
    context.stroke();
  }
}

/** Draws the map: the background, the tiles, the layer, the marks. */
export function drawSheet(sheet: Sheet, data: MapData, painter: Painter | null, drawing: Drawing, shown: Shown): void {
  const { context, size, palette } = sheet;
  context.fillStyle = palette.sheet;
  context.fillRect(0, 0, size.width, size.height);
  drawTileGround(sheet, data);
  painter?.draw(context, sheet.view, size, drawing);
  drawMarks(sheet, data, shown);
}

/** Colours of the page as it is shown now, light or dark. */
function paletteOf(element: Element): Palette {
  const style = getComputedStyle(element);
  const of = (name: string) => style.getPropertyValue(`--${name}`).trim();
  return {
    ink: of('ink'),
    soft: of('soft'),
    line: of('line'),
    sheet: of('sheet'),
    faint: of('faint'),
    bad: of('bad'),
    mark: of('mark'),
  };
}

/** Draws the legend of a layer and writes beside it what the layer shows. */
export function showLegend(bar: HTMLCanvasElement, words: HTMLElement, painter: Painter, unit: number): void {
  drawLegend(bar, painter, paletteOf(document.documentElement), unit);
  words.textContent = legendWords(painter.raster.head);
}
