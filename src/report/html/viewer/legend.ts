/// <reference lib="dom" />
import { decimal, quantity, scaleFor } from '../../quantity.js';
import { axis } from '../axis.js';
import type { Palette } from './marks.js';
import { inReaderMarks } from './numbers.js';
import type { Painter } from './painter.js';
import type { LayerHead } from './payload.js';

const WIDTH = 420;
const HEIGHT = 52;
/** The bar: from left to right, from top to bottom. */
const [LEFT, RIGHT, TOP, BOTTOM] = [8, 412, 16, 30];
const MOST_STEPS = 8;

/** Draws the colours of a layer with their values, and the limit as a vertical line, longer than the bar is high. */
export function drawLegend(canvas: HTMLCanvasElement, painter: Painter, palette: Palette, unit: number): void {
  canvas.width = WIDTH * unit;
  canvas.height = HEIGHT * unit;
  canvas.style.width = `${WIDTH}px`;
  const context = canvas.getContext('2d') as CanvasRenderingContext2D;
  context.scale(unit, unit);
  context.font = '12px system-ui, sans-serif';
  if (painter.ramp.head.kind === 'pass-sets') drawCounts(context, painter, palette);
  else drawScale(context, painter, palette);
}

function drawScale(context: CanvasRenderingContext2D, { ramp }: Painter, palette: Palette): void {
  const { head, low, high } = ramp;
  const placeOf = (value: number) => LEFT + ((value - low) / (high - low)) * (RIGHT - LEFT);
  for (let x = LEFT; x < RIGHT; x++) {
    const [r, g, b] = ramp.colourOf(low + ((x + 0.5 - LEFT) / (RIGHT - LEFT)) * (high - low));
    context.fillStyle = `rgb(${r},${g},${b})`;
    context.fillRect(x, TOP, 1, BOTTOM - TOP);
  }
  const scale = scaleFor(head.unit, Math.max(Math.abs(low), Math.abs(high)));
  const marks = axis(low * scale.factor, high * scale.factor, LEFT, RIGHT, 5);
  for (const tick of marks.ticks) {
    const x = placeOf(tick / scale.factor);
    if (x < LEFT - 0.5 || x > RIGHT + 0.5 || (head.unit === 'count' && !Number.isInteger(tick))) continue;
    context.fillStyle = palette.soft;
    context.fillRect(x - 0.5, BOTTOM, 1, 4);
    write(context, inReaderMarks(decimal(tick, marks.decimals)), x, BOTTOM + 17, palette.soft);
  }
  if (head.limit === null) return;
  for (const limit of head.signed ? [-head.limit, head.limit] : [head.limit]) {
    const x = placeOf(limit);
    if (x < LEFT || x > RIGHT) continue;
    context.fillStyle = palette.ink;
    context.fillRect(x - 1, TOP - 4, 2, BOTTOM - TOP + 8);
    write(context, 'limit', x, TOP - 6, palette.ink);
  }
}

/** One field for each number of passes. */
function drawCounts(context: CanvasRenderingContext2D, { ramp }: Painter, palette: Palette): void {
  const first = Math.max(1, Math.round(ramp.low));
  const last = Math.max(first, Math.round(ramp.high));
  const step = Math.ceil((last - first + 1) / MOST_STEPS);
  const width = (RIGHT - LEFT) / MOST_STEPS;
  for (let count = first, x = LEFT; count <= last; count += step, x += width) {
    const [r, g, b] = ramp.colourOf(count);
    context.fillStyle = `rgb(${r},${g},${b})`;
    context.fillRect(x, TOP, width - 2, BOTTOM - TOP);
    write(context, `${count}${count + step > last && step > 1 ? '+' : ''}`, x + width / 2, BOTTOM + 17, palette.soft);
  }
}

/** Text centred at a position; at the ends of the bar it is moved inward. */
function write(context: CanvasRenderingContext2D, text: string, x: number, y: number, colour: string): void {
  context.fillStyle = colour;
  context.textAlign = x < LEFT + 14 ? 'left' : x > RIGHT - 14 ? 'right' : 'center';
  context.fillText(text, context.textAlign === 'left' ? LEFT : context.textAlign === 'right' ? RIGHT : x, y);
}

/** What a layer shows, in words: title, unit, size of its cells and limit. */
export function legendWords(head: LayerHead): string {
  const parts = [head.owner === '' ? head.title : `${head.title} (${head.owner})`];
  const { label } = scaleFor(head.unit, head.limit ?? 0);
  if (label !== '') parts.push(`in ${label}`);
  parts.push(`cells of ${head.cell} m`);
  if (head.mergedFrom !== null) parts.push(`each the worst of cells of ${head.mergedFrom} m`);
  if (head.limit !== null) {
    const limit = quantity(head.limit, head.unit);
    parts.push(head.signed ? `limit ${limit} on both sides of zero` : `${senseWords(head.sense)} ${limit} required`);
  }
  return inReaderMarks(parts.join(', '));
}

function senseWords(sense: LayerHead['sense']): string {
  return sense === 'at-least' ? 'at least' : 'at most';
}
