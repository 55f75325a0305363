import { type FigurePair, limitWords } from '../figures.js';
import type { HistogramResult } from '../model.js';
import { decimal, quantity, scaleFor } from '../quantity.js';
import type { VerdictWords } from '../wording.js';
import { type Axis, axis, px } from './axis.js';
import { type Markup, markup } from './markup.js';

/**
 * A small bar: its length is the size of the measured figure, a vertical line is the limit, and a hatched strip below marks
 * the side on which the figure is good. Empty where the figure or the limit is missing.
 */
export function limitBar(pair: FigurePair, tone: VerdictWords['tone']): Markup {
  if (typeof pair.measured !== 'number' || typeof pair.limit !== 'number') return markup``;
  const width = 190;
  const measured = Math.abs(pair.measured);
  const limit = Math.abs(pair.limit);
  const most = Math.max(measured, limit);
  const full = most === 0 ? 1 : most * (measured > limit ? 1.08 : 1.25);
  const at = 2 + (limit / full) * (width - 4);
  const good = pair.sense === 'at-least' ? { from: at, to: width } : { from: 0, to: at };
  return markup`<svg class="${tone}" width="${width}" height="30" viewBox="0 0 ${width} 30" role="img" aria-label="${pair.label}: ${pair.measuredText}; required: ${limitWords(pair)}">
<rect class="track" x="0" y="8" width="${width}" height="12" rx="2"/><rect class="fill" x="0" y="8" width="${px((measured / full) * width)}" height="12" rx="2"/>${pair.sense !== null && markup`<rect class="allowed" x="${px(good.from)}" y="23" width="${px(good.to - good.from)}" height="3"/>`}<line class="limit" x1="${px(at)}" y1="3" x2="${px(at)}" y2="27"/></svg>`;
}

/** Horizontal grid lines with their values on the left, and the unit above the values. */
export function valueGrid(scale: Axis, left: number, right: number, unit: string): Markup {
  return markup`${scale.ticks.map((tick) => markup`<line class="${tick === 0 ? 'zero' : 'grid'}" x1="${left}" y1="${px(scale.at(tick))}" x2="${right}" y2="${px(scale.at(tick))}"/><text class="n" x="${left - 6}" y="${px(scale.at(tick) + 4)}" text-anchor="end">${decimal(tick, scale.decimals)}</text>`)}<text x="${left - 6}" y="${px(scale.at(scale.high) - 10)}" text-anchor="end">${unit}</text>`;
}

/** Counts in classes as vertical bars, with the normal curves and the limit where the histogram has them. */
export function histogramChart(histogram: HistogramResult): Markup {
  const { edges, counts, normal, limit } = histogram;
  if (counts.length === 0 || edges.length !== counts.length + 1) return markup``;
  const [width, height, left, right, top, bottom] = [680, 226, 64, 668, 28, 180];
  const shown = scaleFor(histogram.unit, Math.max(Math.abs(edges[0]), Math.abs(edges[edges.length - 1])));
  const low = edges[0] * shown.factor;
  const high = edges[edges.length - 1] * shown.factor;
  const across = axis(low, high, left, right, 8);
  const total = counts.reduce((sum, n) => sum + n, 0);
  const classWidth = (edges[edges.length - 1] - edges[0]) / counts.length;
  const peak = normal
    ? (total * classWidth) / (Math.min(normal.std, normal.nmad || normal.std) * Math.sqrt(2 * Math.PI))
    : 0;
  const most = counts.reduce((a, b) => Math.max(a, b));
  const up = axis(0, Math.max(1, Math.min(peak, 2 * most), most), bottom, top, 4);
  const bars = counts.map((count, i) => {
    const from = across.at(edges[i] * shown.factor);
    const to = across.at(edges[i + 1] * shown.factor);
    return count === 0
      ? ''
      : markup`<rect class="bar" x="${px(from + 0.5)}" y="${px(up.at(count))}" width="${px(Math.max(0.5, to - from - 1))}" height="${px(bottom - up.at(count))}"/>`;
  });
  const curve = (std: number, kind: string) => {
    const path = Array.from({ length: 81 }, (_, k) => {
      const v = edges[0] + ((edges[edges.length - 1] - edges[0]) * k) / 80;
      const z = (v - (normal?.mean ?? 0)) / std;
      const count = (total * classWidth * Math.exp((-z * z) / 2)) / (std * Math.sqrt(2 * Math.PI));
      return `${k === 0 ? 'M' : 'L'}${px(across.at(v * shown.factor))} ${px(Math.max(top, up.at(count)))}`;
    });
    return markup`<path class="curve ${kind}" d="${path.join('')}"/>`;
  };
  const labels = across.ticks.map(
    (tick) =>
      markup`<text class="n" x="${px(across.at(tick))}" y="${bottom + 18}" text-anchor="middle">${decimal(tick, across.decimals)}</text>`,
  );
  const limitAt = limit === null ? null : across.at(limit * shown.factor);
  const words = `${counts.length} ${counts.length === 1 ? 'class' : 'classes'} from ${decimal(low, across.decimals)} to ${decimal(high, across.decimals)} ${shown.label}`;
  return markup`<figure><figcaption>${histogram.title}</figcaption>
<svg width="${width}" height="${height}" viewBox="0 0 ${width} ${height}" role="img" aria-label="${histogram.title}: ${words}">${valueGrid(up, left, right, 'count')}${bars}${normal && normal.std > 0 && curve(normal.std, 'of-std')}${normal && normal.nmad > 0 && curve(normal.nmad, 'of-nmad')}${limitAt !== null && limitAt >= left && limitAt <= right && markup`<line class="limit-line" x1="${px(limitAt)}" y1="${top - 8}" x2="${px(limitAt)}" y2="${bottom}"/><text class="strong" x="${px(limitAt + 5)}" y="${top}">${senseText(histogram)}</text>`}${labels}<text x="${right}" y="${height - 6}" text-anchor="end">${shown.label}</text></svg>
${normal && markup`<ul class="legend n"><li>solid: normal curve, standard deviation ${quantity(normal.std, histogram.unit)}</li><li>dashed: normal curve, NMAD ${quantity(normal.nmad, histogram.unit)}</li></ul>`}</figure>`;
}

function senseText({ sense }: HistogramResult): string {
  return sense === null ? 'limit' : sense === 'at-least' ? 'at least' : 'at most';
}
