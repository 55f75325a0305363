/// <reference lib="dom" />
import { drawLegend, legendWords } from './legend.js';
import { drawSheet, type MapView } from './map.js';
import type { Palette } from './marks.js';
import type { Painter } from './painter.js';
import { fitView } from './view.js';

/** Dark on white, also when the page has the dark theme. */
const PAPER: Palette = {
  ink: '#000000',
  soft: '#3d4548',
  line: '#b9bfbd',
  sheet: '#ffffff',
  faint: '#f1f2f1',
  bad: '#a92a22',
  mark: '#33565f',
};
const MARKS =
  'Tiles, zones, survey points with their residuals (● check, ■ control, ◆ blunder; upward: the cloud is too high), ▲ places to look at';
/** Width of a printed map, pixels: 150 per inch between the margins of A4. */
const PRINT_WIDTH = 1080;
const PRINT_MOST_HEIGHT = 900;

/**
 * Before printing: opens folded parts except long lists, adds a picture of every unpacked layer to the page, and takes the
 * buttons out of table headings, because browsers do not print them where a heading is repeated on the next page. After
 * printing: undoes all three.
 */
export function startPrinting(map: MapView | null): void {
  const folded = new Set<HTMLDetailsElement>();
  const unwrapped: { button: HTMLButtonElement; content: ChildNode[] }[] = [];
  addEventListener('beforeprint', () => {
    for (const button of document.querySelectorAll<HTMLButtonElement>('thead th > button')) {
      const content = [...button.childNodes];
      button.before(...content);
      button.remove();
      unwrapped.push({ button, content });
    }
    for (const part of document.querySelectorAll<HTMLDetailsElement>('details:not([open], .more)')) {
      folded.add(part);
      part.open = true;
    }
    if (map) printMaps(map);
  });
  addEventListener('afterprint', () => {
    for (const part of folded) part.open = false;
    folded.clear();
    for (const { button, content } of unwrapped.splice(0)) {
      content[0]?.before(button);
      button.append(...content);
    }
    document.getElementById('printed-maps')?.replaceChildren();
  });
}

function printMaps(map: MapView): void {
  const painters = map.layers.heads.map((_, index) => map.layers.ready(index)).filter((painter) => painter !== null);
  const figures = [null, ...painters].map((painter) => printedMap(map, painter));
  document.getElementById('printed-maps')?.replaceChildren(...figures);
}

/** A map with one layer, tiles and zones; without a layer, with all marks. */
function printedMap(map: MapView, painter: Painter | null): HTMLElement {
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
  const marks = painter === null;
  drawSheet(sheet, map.data, painter, map.drawing, { tiles: true, zones: true, points: marks, places: marks });
  const caption = document.createElement('figcaption');
  caption.textContent = painter ? legendWords(painter.raster.head) : MARKS;
  figure.append(caption, canvas);
  if (painter) {
    const bar = document.createElement('canvas');
    drawLegend(bar, painter, PAPER, 2);
    figure.append(bar);
  }
  return figure;
}
