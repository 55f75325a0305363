import type { Report } from '../model.js';
import { coordinate, quantity } from '../quantity.js';
import { countOf } from '../wording.js';
import { px, roundStep } from './axis.js';
import { divergingColour } from './colours.js';
import { largestOf } from './largest.js';
import { planExtent } from './map-data.js';
import { type Markup, markup } from './markup.js';
import { largestResidual, markOf, sizeOf } from './survey-section.js';

const PLACES_SHOWN = 400;
/** Of more survey points those with the largest differences are drawn. */
const POINTS_SHOWN = 1000;

/** The delivery seen from above: tiles, survey points, and the places to look at. Empty where nothing has coordinates. */
export function planFigure(report: Report): Markup {
  const extent = report.delivery.extent;
  const tiles = report.files.filter((file) => file.extent);
  const drawn = planExtent(report);
  if (drawn === null) return markup``;
  const box = { west: drawn[0], south: drawn[1], east: drawn[2], north: drawn[3] };
  const isDrawn = ({ x, y }: { x: number; y: number }) =>
    x >= box.west && x <= box.east && y >= box.south && y <= box.north;
  const points = largestOf(report.surveyPoints.filter(isDrawn), sizeOf, POINTS_SHOWN);
  const places = report.requirements
    .filter((requirement) => requirement.verdict === 'fail' || requirement.verdict === 'undetermined')
    .flatMap((requirement) =>
      requirement.locations.filter(isDrawn).map((location) => ({ ...location, id: requirement.id })),
    );
  const spanX = Math.max(1, box.east - box.west);
  const spanY = Math.max(1, box.north - box.south);
  const [margin, width, tallest] = [24, 920, 520];
  const zoom = Math.min((width - 2 * margin) / spanX, (tallest - 2 * margin - 24) / spanY);
  const height = Math.round(spanY * zoom + 2 * margin + 30);
  const left = (width - spanX * zoom) / 2;
  const toX = (x: number) => left + (x - box.west) * zoom;
  const toY = (y: number) => margin + (box.north - y) * zoom;
  const frame = (from: readonly number[], faulty: boolean, name: string) =>
    markup`<rect class="tile ${faulty ? 'faulty' : ''}" x="${px(toX(from[0]))}" y="${px(toY(from[4]))}" width="${px(Math.max(1, (from[3] - from[0]) * zoom))}" height="${px(Math.max(1, (from[4] - from[1]) * zoom))}"><title>${name}</title></rect>`;
  const largest = largestResidual(points);
  const size = places.length > 30 ? 5 : 8;
  const bar = roundStep(spanX / 8);
  const floor = height - 14;
  return markup`<figure><figcaption>Seen from above</figcaption>
<svg width="${width}" height="${height}" viewBox="0 0 ${width} ${height}" role="img" aria-label="Plan of the delivery with ${countOf(report.surveyPoints.length, 'survey point')} and ${countOf(places.length, 'location of a finding', 'locations of findings')}; the tables list them">
${tiles.length > 0 ? tiles.map((tile) => frame(tile.extent as number[], tile.fault !== null, tile.file)) : extent && frame(extent, false, 'extent of all points')}
${points.map((point) => markOf(point, toX(point.x), toY(point.y), point.dz === null ? 'none' : divergingColour(point.dz, largest)))}
${places.slice(0, PLACES_SHOWN).map((place) => markup`<path class="trouble" d="M${px(toX(place.x))} ${px(toY(place.y) - size)}l${px(size * 0.9)} ${px(size * 1.6)}h${px(-size * 1.8)}z"><title>${place.id}: ${place.note}</title></path>`)}
<line class="zero" x1="${margin}" y1="${floor}" x2="${px(margin + bar * zoom)}" y2="${floor}"/><line class="zero" x1="${margin}" y1="${floor - 4}" x2="${margin}" y2="${floor + 4}"/><line class="zero" x1="${px(margin + bar * zoom)}" y1="${floor - 4}" x2="${px(margin + bar * zoom)}" y2="${floor + 4}"/>
<text x="${px(margin + bar * zoom + 8)}" y="${floor + 4}">${bar} m</text><text x="${width - margin}" y="${floor + 4}" text-anchor="end">south-west ${coordinate(box.west)}, ${coordinate(box.south)}; grid north is up</text></svg>
<ul class="legend">${places.length > 0 && markup`<li>▲ location of a finding${places.length > PLACES_SHOWN && ` (first ${PLACES_SHOWN} of ${places.length})`}</li>`}${points.length > 0 && markup`<li>● check point</li><li>■ control point</li><li>◆ blunder</li>${points.length < report.surveyPoints.length && markup`<li>the ${points.length} points with the largest differences</li>`}<li>blue below the survey, orange above, full colour at ${quantity(largest, 'm')}</li>`}${tiles.some((tile) => tile.fault !== null) && markup`<li>dashed: not fully read</li>`}</ul></figure>`;
}
