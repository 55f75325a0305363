import { tidyNumber } from '../json.js';
import type { GridResult, Report } from '../model.js';
import { quantity } from '../quantity.js';
import { largestOf } from './largest.js';
import { type Markup, markup, trusted } from './markup.js';
import { sizeOf } from './survey-section.js';
import type { LayerHead, MapData } from './viewer/payload.js';

/** Survey points on the map; of more, those with the largest differences. */
const MOST_POINTS = 2000;
/** Places of one requirement on the map. */
const MOST_PLACES = 500;

/** What the map of the page needs besides the cells of its layers; null where nothing has coordinates. */
function mapData(report: Report): MapData | null {
  const extent = planExtent(report);
  if (!extent) return null;
  return {
    extent,
    tiles: report.files.flatMap(({ file, extent: box, fault }) =>
      box ? [{ name: file, box: [box[0], box[1], box[3], box[4]], fault: fault !== null }] : [],
    ),
    zones: report.zones.map(({ name, polygons }) => ({
      name,
      rings: polygons.flatMap(({ outer, holes }) => [outer, ...holes]),
    })),
    passes: report.passes.map(({ pass }) => pass),
    passSets: report.overview.passSets,
    points: largestOf(report.surveyPoints, sizeOf, MOST_POINTS).map(({ id, role, status, x, y, dx, dy, dz }) => ({
      id,
      role,
      status,
      x: tidy(x),
      y: tidy(y),
      d: [dx, dy, dz].map((v) => (typeof v === 'number' ? tidy(v) : null)),
    })),
    places: placesOf(report),
    layers: layersOf(report).map(({ head }) => head),
  };
}

/** The data of the map as script elements that a browser does not run: one for the map, one for the cells of each layer. */
export function mapDataElements(report: Report): Markup {
  const data = mapData(report);
  if (!data) return markup``;
  // "<" is written as an escape, so that no text from a file can end the element.
  const json = JSON.stringify(data).replace(/</g, '\\u003c');
  const layers = layersOf(report).map(
    ({ head, grid }) =>
      markup`<script type="application/octet-stream" id="${head.element}">${trusted(grid.data)}</script>
`,
  );
  return markup`<script type="application/json" id="map-data">${trusted(json)}</script>
${layers}`;
}

/** Layers of the map: first those of requirements that are not met, then those of the others, the overview last. */
export function layersOf(report: Report): { head: LayerHead; grid: GridResult }[] {
  const layers: { head: Omit<LayerHead, 'element'>; grid: GridResult }[] = [];
  const add = (grid: GridResult, owner: string, kind: LayerHead['kind'] = 'values') => {
    const { data: _, ...rest } = grid;
    layers.push({ head: { ...rest, owner, kind }, grid });
  };
  const settled = (verdict: string) => (verdict === 'fail' ? 0 : 1);
  const requirements = [...report.requirements].sort((a, b) => settled(a.verdict) - settled(b.verdict));
  for (const { id, grids } of requirements) for (const grid of grids) add(grid, id);
  const { density, passes } = report.overview;
  if (density) add(density, '');
  if (passes) add(passes, '', 'pass-sets');
  return layers.map(({ head, grid }, i) => ({ head: { ...head, element: `cells-${i}` }, grid }));
}

function placesOf(report: Report): MapData['places'] {
  return report.requirements
    .filter(({ verdict }) => verdict === 'fail' || verdict === 'undetermined')
    .flatMap(({ id, locations }) =>
      locations.slice(0, MOST_PLACES).map(({ x, y, value, unit, note }) => ({
        x: tidy(x),
        y: tidy(y),
        text: `${id}: ${note}${value === null ? '' : ` (${quantity(value, unit)})`}`,
      })),
    );
}

function tidy(value: number): number {
  return tidyNumber(value) ?? 0;
}

/** Share of the extent of the points by which survey points and locations may widen the drawing on each side. */
const BESIDE = 0.25;

/**
 * West, south, east and north of what is drawn, metres: the points of the delivery, and survey points and locations that are not far from
 * them, so that one place far away, such as where a drive ended, does not make everything else small. Null where nothing has coordinates.
 */
export function planExtent(report: Report): number[] | null {
  const box = [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY, Number.NEGATIVE_INFINITY];
  const hold = (x: number, y: number) => {
    box[0] = Math.min(box[0], x);
    box[1] = Math.min(box[1], y);
    box[2] = Math.max(box[2], x);
    box[3] = Math.max(box[3], y);
  };
  const { extent } = report.delivery;
  if (extent) {
    hold(extent[0], extent[1]);
    hold(extent[3], extent[4]);
  }
  const room = extent ? BESIDE * Math.max(extent[3] - extent[0], extent[4] - extent[1]) : Number.POSITIVE_INFINITY;
  const isNear = (x: number, y: number) =>
    !extent || (x > extent[0] - room && x < extent[3] + room && y > extent[1] - room && y < extent[4] + room);
  for (const { x, y } of report.surveyPoints) if (isNear(x, y)) hold(x, y);
  for (const { locations } of report.requirements) for (const { x, y } of locations) if (isNear(x, y)) hold(x, y);
  return Number.isFinite(box[0]) ? box : null;
}
