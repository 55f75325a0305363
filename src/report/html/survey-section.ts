import type { Report, SurveyPointLine } from '../model.js';
import { inColumn, scaleFor } from '../quantity.js';
import { countOf, groupDigits } from '../wording.js';
import { axis, px } from './axis.js';
import { valueGrid } from './charts.js';
import { divergingColour } from './colours.js';
import { type Column, dataTable } from './html-table.js';
import { largestOf } from './largest.js';
import { type Markup, markup, trusted } from './markup.js';
import { MOST_DRAWN } from './residuals.js';
import { sectionCard } from './sections.js';
import { STATION_COLUMNS, stationCells } from './station-columns.js';

const NAMED_ON_PLOT = 40;
const CLOSE_UPS_OPEN = 12;
/** Of more survey points the table has those with the largest differences. */
const MOST_ROWS = 1000;
/** Distance that the map shows around a survey point, metres. */
const REACH = 8;

/** Survey points: residual plot, table and cross-sections. Empty when none were handed over. */
export function surveySection(report: Report): Markup {
  const points = report.surveyPoints;
  if (points.length === 0) return markup``;
  return markup`<p class="note">dz is cloud minus survey: positive where the cloud is too high. Check points are judged; control points are only listed.</p>
${!report.requirements.some((r) => r.residuals.length > 0) && residualPlot(points)}
${residualTable(points)}
${crossSections(report)}`;
}

/** The cloud around every survey point, the largest residual first. All but the first twelve are folded, since there may be hundreds. */
function crossSections(report: Report): Markup {
  const sections = report.requirements.flatMap((r) => r.sections.filter((section) => section.surveyPoint !== null));
  const once = [...new Map([...sections].reverse().map((one) => [one.surveyPoint, one])).values()].reverse();
  if (once.length === 0) return markup``;
  const met = report.surveyPoints.filter(({ n }) => n > 0).length;
  const size = new Map(report.surveyPoints.map(({ id, dz }) => [id, Math.abs(dz ?? 0)]));
  const sorted = [...once].sort((a, b) => (size.get(b.surveyPoint ?? '') ?? 0) - (size.get(a.surveyPoint ?? '') ?? 0));
  const cards = (list: typeof sorted) =>
    markup`<div class="close-ups">${list.map((section) => sectionCard(section, report))}</div>`;
  const rest = sorted.slice(CLOSE_UPS_OPEN);
  return markup`<h3 class="part">The cloud at the survey points</h3>
<p class="note">Each point from above, and as a cross-section along the line drawn there; the largest residual first. ◇ is the survey point, the line is the plane fitted to the cloud.${once.length < met && markup` ${once.length} of ${groupDigits(String(met))} survey points are drawn: those with the largest differences, and others spread over the area.`}</p>
${cards(sorted.slice(0, CLOSE_UPS_OPEN))}
${rest.length > 0 && markup`<details><summary>${countOf(rest.length, 'more survey point')}</summary>${cards(rest)}</details>`}`;
}

/** One vertical line for each point; check points, control points and blunders have different shapes. */
export function residualPlot(points: readonly SurveyPointLine[]): Markup {
  const compared = points.filter((point) => typeof point.dz === 'number');
  const shown = largestOf(compared, sizeOf, MOST_DRAWN);
  if (shown.length === 0) return markup`<p>No survey point could be compared with the cloud.</p>`;
  const most = largestResidual(shown);
  const scale = scaleFor('m', most);
  const full = most * scale.factor;
  const values = shown.map((point) => (point.dz as number) * scale.factor);
  const within = values.filter((value) => Math.abs(value) <= full);
  const named = shown.length <= NAMED_ON_PLOT;
  const [width, left, right, top, bottom] = [920, 64, 908, 34, 230];
  const height = bottom + (named ? 72 : 20);
  const up = axis(
    within.reduce((a, b) => Math.min(a, b), 0),
    within.reduce((a, b) => Math.max(a, b), 0),
    bottom,
    top,
    6,
  );
  const step = (right - left) / shown.length;
  const zero = up.at(0);
  const marks = shown.map((point, i) => {
    const x = left + step * (i + 0.5);
    const beyond = values[i] > up.high || values[i] < up.low;
    const y = up.at(Math.min(up.high, Math.max(up.low, values[i])));
    const colour = divergingColour(values[i], full);
    const stem = markup`<line x1="${px(x)}" y1="${px(zero)}" x2="${px(x)}" y2="${px(y)}" stroke="${colour}" stroke-width="${px(Math.min(3, step * 0.4))}"${beyond && trusted(' stroke-dasharray="4 3"')}/>`;
    const amount =
      beyond &&
      markup`<text class="strong" x="${px(x + 11)}" y="${px(y + 4)}">${inColumn(point.dz, scale, true)}, off the scale</text>`;
    const name =
      named &&
      markup`<text transform="translate(${px(x + 3)} ${bottom + 14}) rotate(-50)" text-anchor="end">${shorten(point.id)}</text>`;
    return markup`${stem}${markOf(point, x, y, colour)}${amount}${name}
`;
  });
  return markup`<figure><figcaption>Height residuals, ${scale.label}${shown.length < compared.length && `: the ${shown.length} largest of ${groupDigits(String(compared.length))}`}</figcaption>
<svg width="${width}" height="${height}" viewBox="0 0 ${width} ${height}" role="img" aria-label="Height residuals of ${countOf(shown.length, 'survey point')}; the values are in the table below">${valueGrid(up, left, right, scale.label)}${marks}</svg>
<ul class="legend"><li>● check point</li><li>■ control point</li><li>◆ blunder (gross error), left out of the figures</li><li>blue below the survey, orange above</li></ul></figure>`;
}

/** Size of the largest difference of a survey point, metres; 0 where it has none. */
export function sizeOf({ dx, dy, dz }: SurveyPointLine): number {
  return Math.max(Math.abs(dz ?? 0), Math.abs(dx ?? 0), Math.abs(dy ?? 0));
}

/** Largest size of a residual that is not a blunder, metres; of all residuals where each is a blunder. It sets the scale of drawings. */
export function largestResidual(points: readonly SurveyPointLine[]): number {
  const sound = points.filter((point) => point.status !== 'blunder');
  const counted = sound.some((point) => point.dz !== null) ? sound : points;
  return counted.reduce((largest, point) => Math.max(largest, Math.abs(point.dz ?? 0)), 0);
}

/** Mark of a survey point at a place on the page: circle for a check point, square for a control point, diamond for a blunder. */
export function markOf(point: SurveyPointLine, x: number, y: number, colour: string): Markup {
  const title = markup`<title>${point.id}</title>`;
  if (point.status === 'blunder')
    return markup`<path class="outline" d="M${px(x)} ${px(y - 7)}l7 7l-7 7l-7 -7z" fill="${colour}">${title}</path>`;
  if (point.role === 'control')
    return markup`<rect class="outline" x="${px(x - 4.5)}" y="${px(y - 4.5)}" width="9" height="9" fill="${colour}">${title}</rect>`;
  return markup`<circle class="outline" cx="${px(x)}" cy="${px(y)}" r="5" fill="${colour}">${title}</circle>`;
}

function residualTable(all: readonly SurveyPointLine[]): Markup {
  const points = largestOf(all, sizeOf, MOST_ROWS);
  const passes = [...new Set(points.flatMap((point) => point.perPass.map((entry) => entry.pass)))];
  const shownPasses = passes.length <= 6 ? passes : [];
  const horizontal = points.some((point) => typeof point.dx === 'number' || typeof point.dy === 'number');
  const stationed = points.some((point) => point.stationLabel !== undefined);
  const columns: Column[] = [
    { title: 'Point' },
    { title: 'Role' },
    { title: 'Status' },
    { title: 'dz', unit: 'm', signed: true },
    ...(horizontal
      ? [
          { title: 'dx', unit: 'm', signed: true },
          { title: 'dy', unit: 'm', signed: true },
        ]
      : []),
    ...shownPasses.map((pass) => ({ title: `dz ${pass}`, unit: 'm', signed: true })),
    { title: 'Cloud points', unit: 'count' },
    { title: 'Method' },
    ...(stationed ? STATION_COLUMNS : []),
    { title: 'Easting', coordinate: 3 },
    { title: 'Northing', coordinate: 3 },
    { title: 'Height', coordinate: 3 },
  ];
  const rows = points.map((point) => [
    point.id,
    point.role,
    `${STATUS_WORDS[point.status]}${point.surfaces ? `, nearest of ${point.surfaces.length} surfaces` : ''}`,
    point.dz,
    ...(horizontal ? [point.dx, point.dy] : []),
    ...shownPasses.map((pass) => point.perPass.find((entry) => entry.pass === pass)?.dz),
    point.n,
    point.method,
    ...(stationed ? stationCells(point) : []),
    point.x,
    point.y,
    point.z,
  ]);
  const places = points.map(({ x, y }) => ({ x, y, reach: REACH }));
  return markup`${dataTable('Residuals at survey points', columns, rows, { most: MOST_ROWS, places })}
${points.length < all.length && markup`<p class="note">The ${groupDigits(String(points.length))} survey points with the largest differences; all ${groupDigits(String(all.length))} are in report.json and survey-points.csv.</p>`}`;
}

/** Status of a survey point in words. */
const STATUS_WORDS: Record<SurveyPointLine['status'], string> = {
  used: 'used',
  blunder: 'blunder',
  'no-data': 'too few cloud points',
  'no-target': 'target not found',
  outside: 'outside the area',
};

function shorten(id: string): string {
  const letters = [...id];
  return letters.length <= 9 ? id : `${letters.slice(0, 8).join('')}…`;
}
