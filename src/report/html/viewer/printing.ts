/// <reference lib="dom" />
import { drawLegend, legendWords } from './legend.js';
import { drawSheet, type MapView } from './map.js';
import type { Palette } from './marks.js';
import type { Painter } from './painter.js';
import { fitView } from './view.js';

/** Dark on white, whatever the screen shows. */
const PAPER: Palette = {
  ink: '#000000',
  soft: '#3d4548',
  line: '#b9bfbd',
  sheet: '#ffffff',
  faint: '#f1f2f1',
  bad: '#a92a22',
  mark: '#33565f',
};
/** Pixels of a printed map: 150 to the inch on A4 between the margins. */
const PRINT_WIDTH = 1080;
const PRINT_MOST_HEIGHT = 900;

/** Before printing, opens folded parts (but for long lists) and puts a picture of every layer on the page. */
export function startPrinting(map: MapView | null): void {
  const folded = new Set<HTMLDetailsElement>();
  addEventListener('beforeprint', () => {
    for (const part of document.querySelectorAll<HTMLDetailsElement>('details:not([open], .more)')) {
      folded.add(part);
      part.open = true;
    }
    if (map) printMaps(map);
  });
  addEventListener('afterprint', () => {
    for (const part of folded) part.open = false;
    folded.clear();
    document.getElementById('printed-maps')?.replaceChildren();
  });
}

function printMaps(map: MapView): void {
  const sheets = map.layers.heads.map((_, index) => map.layers.ready(index)).filter((painter) => painter !== null);
  document.getElementById('printed-maps')?.replaceChildren(...sheets.map((painter) => printedMap(map, painter)));
}

function printedMap(map: MapView, painter: Painter): HTMLElement {
  const figure = document.createElement('figure');
  const canvas = document.createElement('canvas');
  const [west, south, east, north] = map.data.extent;
  const shape = Math.max(north - south, 1) / Math.max(east - west, 1);
  canvas.width = PRINT_WIDTH;
  canvas.height = Math.round(Math.min(PRINT_MOST_HEIGHT, Math.max(240, PRINT_WIDTH * shape)));
  const unit = 1.6;
  const size = { width: canvas.width, height: canvas.height };
  const context = canvas.getContext('2d') as CanvasRenderingContext2D;
  const sheet = { context, view: fitView(map.data.extent, size, 30 * unit), size, unit, palette: PAPER };
  drawSheet(sheet, map.data, painter, map.drawing, map.shown);
  const bar = document.createElement('canvas');
  drawLegend(bar, painter, PAPER, 2);
  const caption = document.createElement('figcaption');
  caption.textContent = legendWords(painter.raster.head);
  figure.append(caption, canvas, bar);
  return figure;
}
