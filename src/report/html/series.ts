import type { SeriesResult } from '../model.js';
import { decimal, quantity, scaleFor } from '../quantity.js';
import { countOf } from '../wording.js';
import { axis, px } from './axis.js';
import { valueGrid } from './charts.js';
import { type Markup, markup } from './markup.js';
import { PASS_COLOURS } from './sections.js';

const FRAME = { width: 920, height: 270, left: 64, right: 860, top: 30, bottom: 220 };
/** Largest number of lines drawn; report.json and the CSV file have all of them. */
const MOST_LINES = 20;

/** Values along time or distance, one line for each pass. Lines differ in colour and dashes, and have their name at their end. */
export function seriesChart(series: SeriesResult, colourOf: (name: string) => number): Markup {
  const lines = series.lines.filter(({ y }) => y.some((v) => v !== null)).slice(0, MOST_LINES);
  const xs = lines.flatMap(({ x }) => x);
  const ys = lines.flatMap(({ y }) => y.filter((v) => v !== null));
  if (ys.length === 0) return markup``;
  const { width, height, left, right, top, bottom } = FRAME;
  const [x0, x1] = rangeOf(xs);
  const [least, most] = rangeOf(ys);
  const reach = Math.max(Math.abs(least), Math.abs(most), series.limit ?? 0);
  const scale = scaleFor(series.unit, reach);
  const limitsDrawn = limitsOf(series, least);
  const low = limitsDrawn.reduce((a, b) => Math.min(a, b), Math.min(0, least)) * scale.factor;
  const up = axis(low, Math.max(0, most, series.limit ?? 0) * scale.factor, bottom, top, 6);
  // A station is read off as it is; times are long numbers and count from the first value.
  const origin = series.along.title.startsWith('station') ? 0 : x0;
  const across = axis(x0 - origin, x1 - origin, left, right, 8);
  const drawn = lines.map(({ name, x, y }) => {
    const colour = colourOf(name);
    const last = y.findLastIndex((v) => v !== null);
    const places = y.map((v, i) => (v === null ? null : [across.at(x[i] - origin), up.at(v * scale.factor)]));
    const path = places.map((place, i) => place && `${places[i - 1] ? 'L' : 'M'}${px(place[0])} ${px(place[1])}`);
    const [endX, endY] = places[last] as number[];
    return markup`<path class="line pass-${colour} dash-${Math.floor(lines.findIndex((l) => l.name === name) / PASS_COLOURS) % 3}" d="${path.filter((p) => p !== null).join('')}"/>${places.map((place) => place && markup`<circle class="dot pass-${colour}" cx="${px(place[0])}" cy="${px(place[1])}" r="1.8"/>`)}<text class="strong" x="${px(endX + 5)}" y="${px(endY + 4)}">${name}</text>`;
  });
  const limits = limitsDrawn.map(
    (v) =>
      markup`<line class="limit-line" x1="${left}" y1="${px(up.at(v * scale.factor))}" x2="${right}" y2="${px(up.at(v * scale.factor))}"/>`,
  );
  const alongScale = scaleFor(series.along.unit, x1 - x0);
  const words = `${countOf(lines.length, 'line')}, ${series.along.title} from ${decimal(x0, 1)} to ${decimal(x1, 1)} ${alongScale.label}${series.limit === null ? '' : `, ${limitText(series)}`}`;
  return markup`<figure><figcaption>${series.title}</figcaption><p class="note n">${words}${series.lines.length > MOST_LINES && `; ${series.lines.length - MOST_LINES} more in report.json`}</p>
<svg width="${width}" height="${height}" viewBox="0 0 ${width} ${height}" role="img" aria-label="${series.title}: ${words}">${valueGrid(up, left, right, scale.label)}${limits}${across.ticks.filter((tick) => across.at(tick) <= right + 1).map((tick) => markup`<text class="n" x="${px(across.at(tick))}" y="${bottom + 18}" text-anchor="middle">${decimal(tick, across.decimals)}</text>`)}<text x="${right}" y="${height - 12}" text-anchor="end">${series.along.title}, ${alongScale.label}${origin === 0 ? '' : ' from the first value'}</text>${drawn}</svg></figure>`;
}

/** The values at which a limit is drawn: on both sides of zero where values are, or where no side is named. */
function limitsOf({ limit, sense }: SeriesResult, least: number): number[] {
  if (limit === null) return [];
  return sense === 'at-least' || (sense === 'at-most' && least >= 0) ? [limit] : [limit, -limit];
}

function limitText({ limit, sense, unit }: SeriesResult): string {
  const words = quantity(limit, unit);
  if (sense === undefined) return `limit ${words} on both sides of zero`;
  return `${sense === 'at-most' ? 'at most' : 'at least'} ${words}`;
}

function rangeOf(values: readonly number[]): [number, number] {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const v of values) {
    low = Math.min(low, v);
    high = Math.max(high, v);
  }
  return [low, high];
}
