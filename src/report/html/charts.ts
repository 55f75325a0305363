import type { FigurePair } from '../figures.js';
import type { RequirementResult } from '../model.js';
import { decimal, scaleFor } from '../quantity.js';
import type { VerdictWords } from '../words.js';
import { type Axis, axis, px } from './axis.js';
import { type Markup, markup } from './markup.js';

/** A small bar: the size of the measured figure, and the limit as an upright line. Empty where there is nothing to compare. */
export function limitBar(pair: FigurePair, tone: VerdictWords['tone']): Markup {
  if (typeof pair.measured !== 'number' || typeof pair.limit !== 'number') return markup``;
  const width = 190;
  const measured = Math.abs(pair.measured);
  const limit = Math.abs(pair.limit);
  const most = Math.max(measured, limit);
  const full = most === 0 ? 1 : most * (measured > limit ? 1 : 1.25);
  const at = 2 + (limit / full) * (width - 4);
  return markup`<svg class="${tone}" width="${width}" height="28" viewBox="0 0 ${width} 28" role="img" aria-label="${pair.label}: ${pair.measuredText} beside a limit of ${pair.limitText}">
<rect class="track" x="0" y="8" width="${width}" height="12" rx="2"/><rect class="fill" x="0" y="8" width="${px((measured / full) * width)}" height="12" rx="2"/><line class="limit" x1="${px(at)}" y1="3" x2="${px(at)}" y2="25"/></svg>`;
}

/** Horizontal grid lines with their values at the left, and the unit above them. */
export function valueGrid(scale: Axis, left: number, right: number, unit: string): Markup {
  return markup`${scale.ticks.map((tick) => markup`<line class="${tick === 0 ? 'zero' : 'grid'}" x1="${left}" y1="${px(scale.at(tick))}" x2="${right}" y2="${px(scale.at(tick))}"/><text x="${left - 6}" y="${px(scale.at(tick) + 4)}" text-anchor="end">${decimal(tick, scale.decimals)}</text>`)}<text x="${left - 6}" y="${px(scale.at(scale.high) - 10)}" text-anchor="end">${unit}</text>`;
}

/** Counts in classes as upright bars. */
export function histogramChart(histogram: RequirementResult['histograms'][number]): Markup {
  const { edges, counts } = histogram;
  if (counts.length === 0 || edges.length !== counts.length + 1) return markup``;
  const [width, height, left, right, top, bottom] = [680, 220, 64, 668, 28, 180];
  const shown = scaleFor(histogram.unit, Math.max(Math.abs(edges[0]), Math.abs(edges[edges.length - 1])));
  const low = edges[0] * shown.factor;
  const high = edges[edges.length - 1] * shown.factor;
  const across = axis(low, high, left, right, 8);
  const up = axis(0, Math.max(1, ...counts), bottom, top, 4);
  const bars = counts.map((count, i) => {
    const from = across.at(edges[i] * shown.factor);
    const to = across.at(edges[i + 1] * shown.factor);
    return count === 0
      ? ''
      : markup`<rect class="bar" x="${px(from + 0.5)}" y="${px(up.at(count))}" width="${px(Math.max(0.5, to - from - 1))}" height="${px(bottom - up.at(count))}"/>`;
  });
  const labels = across.ticks.map(
    (tick) =>
      markup`<text x="${px(across.at(tick))}" y="${bottom + 18}" text-anchor="middle">${decimal(tick, across.decimals)}</text>`,
  );
  return markup`<figure><figcaption>${histogram.title}</figcaption>
<svg width="${width}" height="${height}" viewBox="0 0 ${width} ${height}" role="img" aria-label="${histogram.title}: ${counts.length} classes from ${decimal(low, across.decimals)} to ${decimal(high, across.decimals)} ${shown.label}">${valueGrid(up, left, right, 'count')}${bars}${labels}<text x="${right}" y="${height - 4}" text-anchor="end">${shown.label}</text></svg></figure>`;
}
