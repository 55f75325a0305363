import type { ResidualResult } from '../model.js';
import { inColumn, quantity, scaleFor } from '../quantity.js';
import { countOf } from '../wording.js';
import { axis, px } from './axis.js';
import { valueGrid } from './charts.js';
import { largestOf } from './largest.js';
import { type Markup, markup, trusted } from './markup.js';

const NAMED = 44;
/** Of more differences the largest are drawn. */
export const MOST_DRAWN = 400;
const FRAME = { width: 920, left: 64, right: 838, top: 34, bottom: 236 };

/**
 * One vertical line for each difference, in the order given; the limit as dashed lines, the mean and the root mean square as
 * lines, the confidence interval as bands. A blunder outside the scale is drawn at its edge, with its value as text.
 */
export function residualChart(residuals: ResidualResult): Markup {
  const { title, unit, mean, rms, interval, limit } = residuals;
  const items = largestOf(residuals.items, ({ value }) => Math.abs(value), MOST_DRAWN);
  if (items.length === 0) return markup``;
  const sound = residuals.items.filter(({ group }) => group !== 'blunder');
  const most = largest([...sound.map(({ value }) => value), limit ?? 0, interval?.[1] ?? 0], items);
  const scale = scaleFor(unit, most);
  const values = items.map(({ value }) => value * scale.factor);
  const full = most * scale.factor;
  const { width, left, right, top, bottom } = FRAME;
  const height = bottom + (items.length <= NAMED ? 76 : 22);
  const up = axis(-full, full, bottom, top, 8);
  const at = (metres: number) => up.at(Math.min(up.high, Math.max(up.low, metres * scale.factor)));
  const step = (right - left) / items.length;
  const stems = items.map(({ label, group }, i) => {
    const x = left + step * (i + 0.5);
    const beyond = values[i] > up.high || values[i] < up.low;
    const y = at(items[i].value);
    return markup`<line class="stem ${group}" x1="${px(x)}" y1="${px(up.at(0))}" x2="${px(x)}" y2="${px(y)}" ${beyond && trusted('stroke-dasharray="4 3"')}/>${shapeOf(group, x, y, label)}${beyond && markup`<text class="strong n" x="${px(x > right - 140 ? x - 11 : x + 11)}" y="${px(y + 4)}" text-anchor="${x > right - 140 ? 'end' : 'start'}">${inColumn(items[i].value, scale, true)}, off the scale</text>`}${items.length <= NAMED && markup`<text transform="translate(${px(x + 3)} ${bottom + 14}) rotate(-50)" text-anchor="end">${shorten(label)}</text>`}
`;
  });
  const lines = namedLines([
    ...(limit === null ? [] : [{ y: at(limit), below: at(-limit), kind: 'limit-line', word: 'limit' }]),
    ...(mean === null ? [] : [{ y: at(mean), below: null, kind: 'mean-line', word: 'mean' }]),
    ...(rms === null ? [] : [{ y: at(rms), below: at(-rms), kind: 'rms-line', word: 'RMS' }]),
  ]);
  const words = [
    countOf(sound.filter(({ group }) => group === 'used').length, 'difference'),
    ...(items.length < residuals.items.length ? [`the ${countOf(items.length, 'largest', 'largest')} are drawn`] : []),
    ...(mean === null ? [] : [`mean ${quantity(mean, unit)}`]),
    ...(rms === null ? [] : [`RMS ${quantity(rms, unit)}`]),
    ...(interval === null ? [] : [`95 % interval ${quantity(interval[0], unit)} to ${quantity(interval[1], unit)}`]),
    ...(limit === null ? [] : [`limit ${quantity(limit, unit)}`]),
  ].join(', ');
  const band = (from: number, to: number) =>
    markup`<rect class="band" x="${left}" y="${px(Math.min(at(from), at(to)))}" width="${right - left}" height="${px(Math.abs(at(to) - at(from)))}"/>`;
  return markup`<figure><figcaption>${title}</figcaption><p class="note n">${words}</p>
<svg width="${width}" height="${height}" viewBox="0 0 ${width} ${height}" role="img" aria-label="${title}: ${words}">${interval && markup`${band(interval[0], interval[1])}${band(-interval[0], -interval[1])}`}${valueGrid(up, left, right, scale.label)}${stems}${lines}</svg>
<ul class="legend"><li>● used</li>${items.some(({ group }) => group === 'control') && markup`<li>■ control point, not judged</li>`}${items.some(({ group }) => group === 'blunder') && markup`<li>◆ blunder (gross error), left out of the figures</li>`}${interval && markup`<li>shaded: confidence interval of the RMS (95 %)</li>`}</ul></figure>`;
}

/** Vertical room that a name needs, units of the drawing. */
const NAME_HEIGHT = 14;

/** Lines across the drawing, each named at its right end; names that would overlap are moved apart. */
function namedLines(lines: { y: number; below: number | null; kind: string; word: string }[]): Markup[] {
  const { left, right } = FRAME;
  let free = Number.NEGATIVE_INFINITY;
  return [...lines]
    .sort((a, b) => a.y - b.y)
    .map(({ y, below, kind, word }) => {
      const at = Math.max(y + 4, free);
      free = at + NAME_HEIGHT;
      const across = (v: number) =>
        markup`<line class="${kind}" x1="${left}" y1="${px(v)}" x2="${right}" y2="${px(v)}"/>`;
      return markup`${across(y)}${below !== null && across(below)}<text class="strong" x="${right + 6}" y="${px(at)}">${word}</text>`;
    });
}

/** Largest value of the scale: all of `values`; blunders too, unless the largest is twice as large or more. */
function largest(values: readonly number[], items: readonly ResidualResult['items'][number][]): number {
  const most = values.reduce((m, v) => Math.max(m, Math.abs(v)), 0);
  const all = items.reduce((m, { value }) => Math.max(m, Math.abs(value)), 0);
  return most === 0 || all < 2 * most ? all : most;
}

/** Circle, square for a control point, diamond for a blunder. */
function shapeOf(group: ResidualResult['items'][number]['group'], x: number, y: number, label: string): Markup {
  const title = markup`<title>${label}</title>`;
  if (group === 'blunder')
    return markup`<path class="shape blunder" d="M${px(x)} ${px(y - 7)}l7 7l-7 7l-7 -7z">${title}</path>`;
  if (group === 'control')
    return markup`<rect class="shape control" x="${px(x - 4)}" y="${px(y - 4)}" width="8" height="8">${title}</rect>`;
  return markup`<circle class="shape used" cx="${px(x)}" cy="${px(y)}" r="4.5">${title}</circle>`;
}

function shorten(id: string): string {
  const letters = [...id];
  return letters.length <= 9 ? id : `${letters.slice(0, 8).join('')}…`;
}
