import type { Report, RequirementResult, SectionResult, SurveyPointLine } from '../model.js';
import { decimal, quantity } from '../quantity.js';
import { decodeSectionPoints, type SectionPoints } from '../section-code.js';
import { countOf } from '../wording.js';
import { axis, px, roundStep } from './axis.js';
import { type Markup, markup } from './markup.js';

/** Number of colours for passes; further passes use the same colours again, and the legend names them. */
export const PASS_COLOURS = 7;
const PLAN = 150;
const CUT = { width: 284, height: 150, left: 44, right: 280, top: 12, bottom: 126 };
/** The scale of heights fits the points within this distance of the plane, metres: a wall beside the road must not flatten the road. */
const NEAR_PLANE = 0.12;

/** The points around one place, from above and as a cross-section, coloured by pass, with the survey point and the fitted plane. */
export function sectionCard(
  section: SectionResult,
  report: Report,
  requirement: RequirementResult | null = null,
): Markup {
  const points = decodeSectionPoints(section);
  const colours = section.passes.map((pass) => colourOf(report, pass));
  const surveyed = section.surveyPoint === null ? null : report.surveyPoints.find((p) => p.id === section.surveyPoint);
  const direction = directionOf(section);
  const title = section.surveyPoint ?? section.title;
  const said = surveyed ? residualWords(surveyed) : placeWords(section, requirement);
  return markup`<figure class="close-up" data-x="${section.x}" data-y="${section.y}" data-reach="${section.reach * 3}" data-name="${title}"><figcaption><span class="goes"><strong>${title}</strong></span>${said !== '' && markup` <span class="n">${said}</span>`}</figcaption>
<div class="pictures">${planPicture(section, points, colours, direction, title)}${cutPicture(section, points, colours, direction, title)}</div>
<ul class="legend">${section.passes.map((pass, i) => markup`<li><span class="swatch pass-${colours[i]}" aria-hidden="true">●</span> ${pass}${surveyed && passWords(surveyed, pass)}</li>`)}<li class="n">${drawnWords(section)}</li></ul></figure>`;
}

/** Number of the colour of a pass, from 0; the same in every drawing of the page. */
export function colourOf(report: Report, pass: string): number {
  return (
    Math.max(
      0,
      report.passes.findIndex((known) => known.pass === pass),
    ) % PASS_COLOURS
  );
}

function residualWords({ status, dz, dx, dy }: SurveyPointLine): string {
  const part = (name: string, value: number | null | undefined) =>
    typeof value === 'number' ? `${name} ${value > 0 ? '+' : ''}${quantity(value, 'm')}` : null;
  const parts = [part('dz', dz), part('dx', dx), part('dy', dy)].filter((text) => text !== null);
  if (status === 'blunder') parts.push('blunder');
  return parts.length > 0 ? parts.join(', ') : 'no height measured here';
}

/** Value and passes of the place that a section shows. */
function placeWords({ x, y }: SectionResult, requirement: RequirementResult | null): string {
  const place = requirement?.locations.find((location) => location.x === x && location.y === y);
  if (!place) return '';
  const value = place.value === null ? [] : [quantity(place.value, place.unit)];
  return [...value, ...(place.pass === undefined ? [] : [place.pass])].join(', ');
}

function passWords(point: SurveyPointLine, pass: string): Markup {
  const dz = point.perPass.find((entry) => entry.pass === pass)?.dz;
  return typeof dz === 'number' ? markup` <span class="n">${dz > 0 ? '+' : ''}${quantity(dz, 'm')}</span>` : markup``;
}

function drawnWords({ points, found, reach }: SectionResult): string {
  const radius = `within ${distance(reach)}`;
  return points === found
    ? `${countOf(found, 'point')} ${radius}`
    : `${points} of ${countOf(found, 'point')} ${radius} drawn`;
}

/** A distance in words, rounded to 1 mm below a metre and to 0.1 m above: `300 mm`, `1.5 m`. */
function distance(metres: number): string {
  return metres < 1 ? `${Math.round(metres * 1000)} mm` : `${Math.round(metres * 10) / 10} m`;
}

/** Unit vector of steepest ascent of the plane, so that the cross-section shows the plane as a line; east where it is level. */
function directionOf({ plane }: SectionResult): [number, number] {
  const slope = plane ? Math.hypot(plane.slopeX, plane.slopeY) : 0;
  return plane && slope > 1e-4 ? [plane.slopeX / slope, plane.slopeY / slope] : [1, 0];
}

function planPicture(
  { reach }: SectionResult,
  { dx, dy, pass }: SectionPoints,
  colours: readonly number[],
  [ux, uy]: readonly [number, number],
  title: string,
): Markup {
  const middle = PLAN / 2;
  const zoom = (middle - 10) / reach;
  const dots = dotsByPass(colours.length, pass, (i) => [middle + dx[i] * zoom, middle - dy[i] * zoom]);
  const end = reach * zoom;
  return markup`<svg width="${PLAN}" height="${PLAN}" viewBox="0 0 ${PLAN} ${PLAN}" role="img" aria-label="${title} from above, north up, ${distance(2 * reach)} across"><circle class="grid" cx="${middle}" cy="${middle}" r="${px(end)}" fill="none"/><line class="cut" x1="${px(middle - ux * end)}" y1="${px(middle + uy * end)}" x2="${px(middle + ux * end)}" y2="${px(middle - uy * end)}"/>${dots.map((path, p) => path !== '' && markup`<path class="dots pass-${colours[p]}" d="${path}"/>`)}${surveyMark(middle, middle)}<text x="${middle}" y="10" text-anchor="middle">N</text></svg>`;
}

function cutPicture(
  section: SectionResult,
  { dx, dy, dz, pass }: SectionPoints,
  colours: readonly number[],
  [ux, uy]: readonly [number, number],
  title: string,
): Markup {
  const { reach, plane, surveyPoint } = section;
  const { width, height, left, right, top, bottom } = CUT;
  const ends = plane ? [-1, 1].map((s) => plane.height + s * reach * (plane.slopeX * ux + plane.slopeY * uy)) : [];
  const near = plane
    ? dz.filter((v, i) => Math.abs(v - plane.height - plane.slopeX * dx[i] - plane.slopeY * dy[i]) < NEAR_PLANE)
    : dz;
  const [low, high] = heightRange(near, [...ends, ...(surveyPoint === null ? [] : [0])]);
  const metric = high - low < 2;
  const factor = metric ? 1000 : 1;
  const up = axis(low * factor, high * factor, bottom, top, 4);
  const across = (s: number) => left + ((s + reach) / (2 * reach)) * (right - left);
  const inside = (v: number) => v * factor >= up.low && v * factor <= up.high;
  const dots = dotsByPass(colours.length, pass, (i) =>
    inside(dz[i]) ? [across(dx[i] * ux + dy[i] * uy), up.at(dz[i] * factor)] : null,
  );
  const middle = across(0);
  const bar = roundStep(reach / 2);
  return markup`<svg width="${width}" height="${height}" viewBox="0 0 ${width} ${height}" role="img" aria-label="${title} cross-section along the line of the view from above: heights of the points${plane && markup`, and the fitted plane ${quantity(plane.height, 'm')} above the centre`}">${up.ticks.map((tick) => markup`<line class="grid" x1="${left}" y1="${px(up.at(tick))}" x2="${right}" y2="${px(up.at(tick))}"/><text class="n" x="${left - 5}" y="${px(up.at(tick) + 4)}" text-anchor="end">${decimal(tick, up.decimals)}</text>`)}<text x="${left - 5}" y="${height - 6}" text-anchor="end">${metric ? 'mm' : 'm'}</text>${dots.map((path, p) => path !== '' && markup`<path class="dots pass-${colours[p]}" d="${path}"/>`)}${plane && markup`<line class="plane" x1="${left}" y1="${px(up.at(ends[0] * factor))}" x2="${right}" y2="${px(up.at(ends[1] * factor))}"/>`}${surveyPoint !== null && plane && markup`<line class="residual" x1="${px(middle)}" y1="${px(up.at(0))}" x2="${px(middle)}" y2="${px(up.at(plane.height * factor))}"/>`}${surveyPoint !== null && surveyMark(middle, up.at(0))}<line class="zero" x1="${px(right - across(-reach + bar) + left)}" y1="${height - 8}" x2="${right}" y2="${height - 8}"/><text x="${px(right - across(-reach + bar) + left - 6)}" y="${height - 4}" text-anchor="end">${distance(bar)}</text></svg>`;
}

/** A crossed diamond: the survey point, or the centre of the place. */
function surveyMark(x: number, y: number): Markup {
  return markup`<path class="surveyed" d="M${px(x)} ${px(y - 6)}l6 6l-6 6l-6 -6zM${px(x - 6)} ${px(y)}h12M${px(x)} ${px(y - 6)}v12"/>`;
}

/** For each pass an SVG path of dots. A dot is a line of length zero with round ends, the shortest text for a point. */
function dotsByPass(
  passes: number,
  pass: Uint8Array,
  place: (index: number) => readonly [number, number] | null,
): string[] {
  const paths = new Array<string>(passes).fill('');
  pass.forEach((p, i) => {
    const at = place(i);
    if (at) paths[p] += `M${px(at[0])} ${px(at[1])}h0`;
  });
  return paths;
}

/** The range of heights that is drawn: from the 2nd to the 98th percentile, and all of `needed`; 20 mm at least. */
function heightRange(dz: Float64Array, needed: readonly number[]): [number, number] {
  const sorted = dz.slice().sort();
  const at = (share: number) => (sorted.length === 0 ? [] : [sorted[Math.round((sorted.length - 1) * share)]]);
  const all = [...at(0.02), ...at(0.98), ...needed];
  const low = all.reduce((a, b) => Math.min(a, b), Number.POSITIVE_INFINITY);
  const high = all.reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY);
  const least = 0.02;
  return high - low >= least ? [low, high] : [low - (least - high + low) / 2, high + (least - high + low) / 2];
}
