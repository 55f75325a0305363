/// <reference lib="dom" />
import type { MapData, SurveyMark } from './payload.js';
import { type Size, toScreen, type View } from './view.js';

/** Colours of lines and marks, as CSS colours. */
export interface Palette {
  ink: string;
  soft: string;
  line: string;
  sheet: string;
  faint: string;
  bad: string;
  mark: string;
}

export interface Shown {
  tiles: boolean;
  zones: boolean;
  points: boolean;
  places: boolean;
}

/** A picture to draw on. All sizes are in device pixels; a pixel of the page has `unit` of them. */
export interface Sheet {
  context: CanvasRenderingContext2D;
  view: View;
  size: Size;
  unit: number;
  palette: Palette;
}

/** Length of the longest residual arrow, pixels of the page. */
const ARROW = 36;

/** Draws the areas of the tiles, below a layer. */
export function drawTileGround(sheet: Sheet, data: MapData): void {
  const { context, palette } = sheet;
  context.fillStyle = palette.faint;
  for (const { box } of data.tiles) {
    const [x, y, width, height] = onSheet(sheet, box);
    context.fillRect(x, y, width, height);
  }
}

/** Draws outlines of tiles, zones and marks, above a layer. */
export function drawMarks(sheet: Sheet, data: MapData, shown: Shown): void {
  if (shown.tiles) drawTiles(sheet, data);
  if (shown.zones) drawZones(sheet, data);
  if (shown.points) drawPoints(sheet, data);
  if (shown.places) drawPlaces(sheet, data);
  drawScaleBar(sheet);
}

function onSheet(
  { view, size }: Sheet,
  [west, south, east, north]: readonly number[],
): [number, number, number, number] {
  const [x0, y1] = toScreen(view, size, west, south);
  const [x1, y0] = toScreen(view, size, east, north);
  return [x0, y0, x1 - x0, y1 - y0];
}

function drawTiles(sheet: Sheet, { tiles }: MapData): void {
  const { context, unit, palette, size } = sheet;
  context.font = `${11 * unit}px system-ui, sans-serif`;
  for (const { box, name, fault } of tiles) {
    const [x, y, width, height] = onSheet(sheet, box);
    if (x > size.width || y > size.height || x + width < 0 || y + height < 0) continue;
    context.lineWidth = (fault ? 2 : 1) * unit;
    context.strokeStyle = fault ? palette.bad : palette.soft;
    context.setLineDash(fault ? [5 * unit, 3 * unit] : []);
    context.strokeRect(x, y, width, height);
    const text = fault ? `${name}: not fully read` : name;
    if (width > 90 * unit && height > 30 * unit) {
      label(sheet, text, Math.max(x, 0) + 5 * unit, Math.max(y, 0) + 14 * unit, width - 10 * unit);
    }
  }
  context.setLineDash([]);
}

function drawZones(sheet: Sheet, { zones }: MapData): void {
  const { context, view, size, unit, palette } = sheet;
  context.font = `600 ${11 * unit}px system-ui, sans-serif`;
  for (const { name, rings } of zones) {
    for (const [colour, width] of [
      [palette.sheet, 4],
      [palette.ink, 1.6],
    ] as const) {
      context.strokeStyle = colour;
      context.lineWidth = width * unit;
      context.setLineDash([8 * unit, 3 * unit]);
      for (const ring of rings) {
        context.beginPath();
        for (let i = 0; i < ring.length; i += 2) context.lineTo(...toScreen(view, size, ring[i], ring[i + 1]));
        context.stroke();
      }
    }
    context.setLineDash([]);
    const [ring] = rings;
    if (!ring) continue;
    const [x, y] = toScreen(view, size, ring[0], ring[1]);
    label(sheet, `zone ${name}`, x + 6 * unit, y - 6 * unit, 240 * unit);
  }
}

/** Text with an outline in the colour of the background; it is shortened where there is no room. */
function label({ context, palette, unit }: Sheet, text: string, x: number, y: number, room: number): void {
  let shown = text;
  while (shown.length > 4 && context.measureText(shown).width > room) shown = `${shown.slice(0, -4)}…`;
  context.lineWidth = 3 * unit;
  context.strokeStyle = palette.sheet;
  context.lineJoin = 'round';
  context.strokeText(shown, x, y);
  context.fillStyle = palette.ink;
  context.fillText(shown, x, y);
}

/**
 * Circle for a check point, square for a control point, diamond for a blunder. The vertical arrow is the height residual,
 * upward where the cloud is too high; a second arrow is the horizontal residual where there is one.
 */
function drawPoints(sheet: Sheet, { points }: MapData): void {
  const { context, view, size, unit, palette } = sheet;
  const most = arrowScale(points);
  for (const point of points) {
    const [x, y] = toScreen(view, size, point.x, point.y);
    if (x < -60 || y < -60 || x > size.width + 60 || y > size.height + 60) continue;
    const [dx, dy, dz] = point.d;
    const to = (metres: number | null) =>
      metres === null || most === 0 ? 0 : Math.max(-1.6, Math.min(1.6, metres / most)) * ARROW * unit;
    if (dz !== null) arrow(sheet, x, y, x, y - to(dz), palette.ink);
    if (dx !== null && dy !== null) arrow(sheet, x, y, x + to(dx), y - to(dy), palette.mark);
    context.beginPath();
    const r = 4.5 * unit;
    if (point.status === 'blunder') {
      context.moveTo(x, y - 1.5 * r);
      for (const [px, py] of [
        [x + 1.5 * r, y],
        [x, y + 1.5 * r],
        [x - 1.5 * r, y],
      ])
        context.lineTo(px, py);
      context.closePath();
    } else if (point.role === 'control') context.rect(x - r, y - r, 2 * r, 2 * r);
    else context.arc(x, y, r, 0, 2 * Math.PI);
    context.fillStyle = dz === null ? palette.faint : palette.sheet;
    context.fill();
    context.lineWidth = 1.8 * unit;
    context.strokeStyle = palette.ink;
    context.stroke();
  }
}

/** Residual that is drawn with the length `ARROW`, metres: the largest one that is not a blunder. */
function arrowScale(points: readonly SurveyMark[]): number {
  let most = 0;
  for (const { d, status } of points) {
    if (status !== 'blunder') for (const v of d) most = Math.max(most, Math.abs(v ?? 0));
  }
  return most;
}

function arrow(
  { context, unit, palette }: Sheet,
  x0: number,
  y0: number,
  x1: number,
  y1: number,
  colour: string,
): void {
  const length = Math.hypot(x1 - x0, y1 - y0);
  if (length < 1) return;
  const [ux, uy] = [(x1 - x0) / length, (y1 - y0) / length];
  const head = Math.min(7 * unit, length * 0.6);
  for (const [stroke, width] of [
    [palette.sheet, 4.5],
    [colour, 2],
  ] as const) {
    context.strokeStyle = stroke;
    context.lineWidth = width * unit;
    context.beginPath();
    context.moveTo(x0, y0);
    context.lineTo(x1, y1);
    context.moveTo(x1 - head * (ux - 0.5 * uy), y1 - head * (uy + 0.5 * ux));
    context.lineTo(x1, y1);
    context.lineTo(x1 - head * (ux + 0.5 * uy), y1 - head * (uy - 0.5 * ux));
    context.stroke();
  }
}

function drawPlaces(sheet: Sheet, { places }: MapData): void {
  const { context, view, size, unit, palette } = sheet;
  context.fillStyle = palette.bad;
  context.strokeStyle = palette.sheet;
  context.lineWidth = 1.5 * unit;
  for (const place of places) {
    const [x, y] = toScreen(view, size, place.x, place.y);
    context.beginPath();
    context.moveTo(x, y - 9 * unit);
    context.lineTo(x + 8 * unit, y + 6 * unit);
    context.lineTo(x - 8 * unit, y + 6 * unit);
    context.closePath();
    context.fill();
    context.stroke();
  }
}

function drawScaleBar(sheet: Sheet): void {
  const { context, view, size, unit, palette } = sheet;
  const least = (70 * unit) / view.scale;
  const power = 10 ** Math.floor(Math.log10(least));
  const metres = [1, 2, 5, 10].map((f) => f * power).find((m) => m >= least) ?? least;
  const [x, y] = [14 * unit, size.height - 14 * unit];
  for (const [colour, width] of [
    [palette.sheet, 6],
    [palette.ink, 2],
  ] as const) {
    context.strokeStyle = colour;
    context.lineWidth = width * unit;
    context.beginPath();
    context.moveTo(x, y - 5 * unit);
    context.lineTo(x, y);
    context.lineTo(x + metres * view.scale, y);
    context.lineTo(x + metres * view.scale, y - 5 * unit);
    context.stroke();
  }
  context.font = `${12 * unit}px system-ui, sans-serif`;
  const text = metres >= 1000 ? `${metres / 1000} km` : metres < 1 ? `${Math.round(metres * 1000)} mm` : `${metres} m`;
  label(sheet, text, x + metres * view.scale + 8 * unit, y, 90 * unit);
}
