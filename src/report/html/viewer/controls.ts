/// <reference lib="dom" />

import { MapView, showLegend } from './map.js';
import { Layers } from './map-layers.js';
import { readMapData } from './payload.js';

/** Pixels by which an arrow key moves the map, without and with the shift key. */
const STEP = 60;
const LEAP = 240;
/** Most cells of layers that are unpacked before they are chosen, so that they are ready when the page is printed. */
const MOST_AHEAD = 6_000_000;
const AHEAD_AFTER_MS = 700;

/** Starts the map of the page and returns it; null where the page has none. */
export function startMap(): MapView | null {
  const data = readMapData();
  const section = document.getElementById('map');
  if (!data || !section) return null;
  section.hidden = false;
  document.documentElement.classList.add('live');
  const map = new MapView(element('map-canvas'), data, new Layers(data));
  wirePointer(map);
  wireKeys(map);
  wireTools(map);
  new ResizeObserver(() => map.resize()).observe(map.canvas);
  matchMedia('(prefers-color-scheme: dark)').addEventListener('change', () => {
    map.redraw();
    renewLegend(map);
  });
  whenNear(section, () => chooseLayer(map));
  // Later, so that the page can be read first, but before it is likely to be printed.
  setTimeout(() => chooseLayer(map).then(() => unpackAhead(map)), AHEAD_AFTER_MS);
  return map;
}

function element<T extends HTMLElement>(id: string): T {
  return document.getElementById(id) as T;
}

function whenNear(section: Element, act: () => void): void {
  const watcher = new IntersectionObserver(
    (entries) => {
      if (!entries.some((entry) => entry.isIntersecting)) return;
      watcher.disconnect();
      act();
    },
    { rootMargin: '600px' },
  );
  watcher.observe(section);
}

/** Shows the layer chosen in the list. */
async function chooseLayer(map: MapView): Promise<void> {
  const index = Number(element<HTMLSelectElement>('map-layer').value);
  map.layer = index;
  if (index >= 0) {
    element('map-legend-words').textContent = 'Unpacking the layer ...';
    await map.layers.load(index);
  }
  if (map.layer !== index) return;
  const head = map.layers.heads[index];
  element('map-pass-choice').hidden = head?.kind !== 'pass-sets';
  element('map-beyond-choice').hidden = head === undefined || head.limit === null;
  map.canvas.dataset.layer = String(index);
  renewLegend(map);
  map.redraw();
}

function renewLegend(map: MapView): void {
  const bar = element<HTMLCanvasElement>('map-legend');
  bar.hidden = map.painter === null;
  if (map.painter) showLegend(bar, element('map-legend-words'), map.painter, map.unit);
  else element('map-legend-words').textContent = 'Tiles and marks only';
}

async function unpackAhead(map: MapView): Promise<void> {
  let cells = 0;
  for (let index = 0; index < map.layers.heads.length; index++) {
    cells += map.layers.heads[index].cells;
    if (cells > MOST_AHEAD) continue;
    await new Promise((resolve) => setTimeout(resolve, 30));
    await map.layers.load(index);
  }
  map.canvas.dataset.ahead = 'done';
}

function wireTools(map: MapView): void {
  element('map-layer').addEventListener('change', () => chooseLayer(map));
  element('map-pass').addEventListener('change', (event) => {
    map.layers.showPass(map.layer, Number((event.target as HTMLSelectElement).value));
    renewLegend(map);
    map.redraw();
  });
  element('map-coarse').addEventListener('change', (event) => {
    map.drawing.coarse = (event.target as HTMLSelectElement).value === 'worst' ? 'worst' : 'mean';
    map.redraw();
  });
  element('map-beyond').addEventListener('change', (event) => {
    map.drawing.beyondOnly = (event.target as HTMLInputElement).checked;
    map.redraw();
  });
  for (const name of ['tiles', 'zones', 'points', 'places'] as const) {
    const box = document.getElementById(`map-${name}`) as HTMLInputElement | null;
    box?.addEventListener('change', () => {
      map.shown[name] = box.checked;
      map.redraw();
    });
  }
  element('map-in').addEventListener('click', () => map.zoom(1.6));
  element('map-out').addEventListener('click', () => map.zoom(1 / 1.6));
  element('map-fit').addEventListener('click', () => map.fit());
}

function wirePointer(map: MapView): void {
  const { canvas } = map;
  const held = new Map<number, { x: number; y: number }>();
  canvas.addEventListener('pointerdown', (event) => {
    held.set(event.pointerId, { x: event.offsetX, y: event.offsetY });
    canvas.setPointerCapture(event.pointerId);
    map.cross = false;
    map.redraw();
  });
  canvas.addEventListener('pointermove', (event) => {
    const before = held.get(event.pointerId);
    const now = { x: event.offsetX, y: event.offsetY };
    if (!before) {
      element('map-readout').textContent = map.readAt(now.x, now.y);
      return;
    }
    const other = [...held].find(([id]) => id !== event.pointerId)?.[1];
    if (other) {
      const spread = (p: { x: number; y: number }) => Math.hypot(p.x - other.x, p.y - other.y) || 1;
      map.zoom(spread(now) / spread(before), other.x, other.y);
    } else map.pan(now.x - before.x, now.y - before.y);
    held.set(event.pointerId, now);
  });
  for (const end of ['pointerup', 'pointercancel'] as const)
    canvas.addEventListener(end, (event) => held.delete(event.pointerId));
  canvas.addEventListener('dblclick', (event) => map.zoom(2, event.offsetX, event.offsetY));
  canvas.addEventListener(
    'wheel',
    (event) => {
      // The wheel scrolls the page until the map has the focus, by a click or the tab key.
      if (document.activeElement !== canvas && !event.ctrlKey) return;
      event.preventDefault();
      map.zoom(Math.exp(-event.deltaY * (event.deltaMode === 0 ? 0.0015 : 0.05)), event.offsetX, event.offsetY);
    },
    { passive: false },
  );
}

function wireKeys(map: MapView): void {
  const { canvas } = map;
  let later = 0;
  const read = () => {
    const { width, height } = map.size;
    const words = map.readAt(width / 2, height / 2);
    element('map-readout').textContent = words;
    clearTimeout(later);
    // A screen reader gets the text only when the map has stopped moving.
    later = window.setTimeout(() => {
      element('map-say').textContent = words;
    }, 300);
  };
  const moves: Record<string, [number, number]> = {
    ArrowLeft: [1, 0],
    ArrowRight: [-1, 0],
    ArrowUp: [0, 1],
    ArrowDown: [0, -1],
  };
  canvas.addEventListener('keydown', (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const move = moves[event.key];
    const step = event.shiftKey ? LEAP : STEP;
    if (move) map.pan(move[0] * step, move[1] * step);
    else if (event.key === '+' || event.key === '=') map.zoom(1.6);
    else if (event.key === '-' || event.key === '_') map.zoom(1 / 1.6);
    else if (event.key === '0' || event.key === 'Home') map.fit();
    else if (event.key !== 'Enter' && event.key !== ' ') return;
    event.preventDefault();
    map.cross = true;
    map.redraw();
    read();
  });
  canvas.addEventListener('blur', () => {
    map.cross = false;
    map.redraw();
  });
}
