import { coordinate, quantity } from '../../quantity.js';
import type { LayerHead, MapData, Place, SurveyMark } from './payload.js';
import { isBeyond, type Raster } from './raster.js';

/** What the map has at a place, in words: coordinates, value of the layer, tile, zones. */
export function readPlace(data: MapData, raster: Raster | null, x: number, y: number): string {
  const parts = [`x ${coordinate(x)}, y ${coordinate(y)}`];
  if (raster) parts.push(readCell(data, raster, x, y));
  const tile = data.tiles.find(
    ({ box: [west, south, east, north] }) => x >= west && x < east && y >= south && y < north,
  );
  if (tile) parts.push(tile.name);
  for (const { name, rings } of data.zones) if (isInside(rings, x, y)) parts.push(`zone ${name}`);
  return parts.join('; ');
}

/** The value of the cell at a place, as the tables of the report write it. */
function readCell(data: MapData, raster: Raster, x: number, y: number): string {
  const { head } = raster;
  const steps = raster.stepsAt(Math.floor(x / head.cell), Math.floor(y / head.cell));
  if (steps === null) return 'no value here';
  if (head.kind === 'pass-sets') {
    const passes = (data.passSets[steps] ?? []).map((index) => data.passes[index] ?? 'unnamed pass');
    return `${passes.length} ${passes.length === 1 ? 'pass' : 'passes'}: ${passes.join(', ')}`;
  }
  const value = steps * head.step;
  const sign = head.signed && value > 0 ? '+' : '';
  return `${sign}${quantity(value, head.unit)}${verdictOn(value, head)}`;
}

function verdictOn(value: number, head: LayerHead): string {
  if (head.limit === null) return '';
  return isBeyond(value, head) ? ', beyond the limit' : ', within the limit';
}

/** A survey point and its residuals in words. */
function readPoint({ id, role, status, d }: SurveyMark): string {
  const names = ['dx', 'dy', 'dz'];
  const said = d.flatMap((value, k) =>
    value === null ? [] : [`${names[k]} ${value > 0 ? '+' : ''}${quantity(value, 'm')}`],
  );
  const kind = status === 'blunder' ? 'blunder' : `${role} point`;
  return `${kind} ${id}: ${said.length > 0 ? said.join(', ') : 'too few cloud points'}`;
}

/** The mark nearest to a place in words; null when none is within `reach` metres. */
export function nearestMark(
  data: MapData,
  shown: { points: boolean; places: boolean },
  x: number,
  y: number,
  reach: number,
): string | null {
  let nearest = reach;
  let words: string | null = null;
  const consider = (mark: { x: number; y: number }, say: () => string) => {
    const distance = Math.hypot(mark.x - x, mark.y - y);
    if (distance > nearest) return;
    nearest = distance;
    words = say();
  };
  if (shown.places) for (const place of data.places) consider(place, () => readFinding(place));
  if (shown.points) for (const point of data.points) consider(point, () => readPoint(point));
  return words;
}

function readFinding(place: Place): string {
  return place.text;
}

/** Whether a place is inside a set of outer rings and holes, by the even-odd rule. */
export function isInside(rings: readonly (readonly number[])[], x: number, y: number): boolean {
  let inside = false;
  for (const ring of rings) {
    for (let i = 0; i + 3 < ring.length; i += 2) {
      const [x0, y0, x1, y1] = [ring[i], ring[i + 1], ring[i + 2], ring[i + 3]];
      if (y0 > y !== y1 > y && x < x0 + ((y - y0) / (y1 - y0)) * (x1 - x0)) inside = !inside;
    }
  }
  return inside;
}
