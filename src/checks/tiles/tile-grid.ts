import type { DeliveredFile } from '../../delivery/delivery.js';
import type { Zone } from '../../delivery/zones.js';
import { outlineCells } from '../../geometry/outline.js';
import { zoneRaster } from '../cells/zone-raster.js';
import { tileNames } from './tile-names.js';

/** Options that say what the grid of tiles is; metres. */
export interface TileGrid {
  size: number;
  originX: number;
  originY: number;
  name?: string;
  nameUnit: number;
  nameCorner: 'lower-left' | 'upper-left' | 'centre';
  tolerance: number;
}

/** A grid that was agreed in the unit of the cloud, and names that hold its coordinates, in metres. */
export function gridInMetres<Grid extends TileGrid>(grid: Grid, unit: number): Grid {
  return {
    ...grid,
    size: grid.size * unit,
    originX: grid.originX * unit,
    originY: grid.originY * unit,
    nameUnit: grid.nameUnit * unit,
  };
}

/** The tile that a file holds; world metres. */
export interface Tile {
  file: DeliveredFile;
  /** Lower left corner; null where neither the name nor the header shows it. */
  corner: { x: number; y: number } | null;
  /** Place in the grid; null off the grid. */
  place: { column: number; row: number } | null;
  /** What is wrong with the name, or null. */
  fault: string | null;
}

/** The tile of every file: by its name, or without a pattern by the middle of its extent. */
export function tilesOf(files: readonly DeliveredFile[], grid: TileGrid): Tile[] {
  const read = grid.name === undefined ? null : tileNames(grid.name);
  return files.map((file) => {
    if (read === null) return tileByExtent(file, grid);
    const named = read(file.name);
    if (named === null) return { file, corner: null, place: null, fault: `the name is not like ${grid.name}` };
    if (named.by === 'place') return tileAt(file, named.column, named.row, grid);
    const back = grid.nameCorner === 'lower-left' ? [0, 0] : grid.nameCorner === 'centre' ? [0.5, 0.5] : [0, 1];
    const x = named.x * grid.nameUnit - back[0] * grid.size;
    const y = named.y * grid.nameUnit - back[1] * grid.size;
    const column = Math.round((x - grid.originX) / grid.size);
    const row = Math.round((y - grid.originY) / grid.size);
    const tile = tileAt(file, column, row, grid);
    const off = Math.max(Math.abs(x - tile.corner!.x), Math.abs(y - tile.corner!.y));
    if (off <= grid.tolerance) return tile;
    return {
      file,
      corner: { x, y },
      place: null,
      fault: `the name says a corner at ${x} ${y}, off the grid by ${off} m`,
    };
  });
}

function tileAt(file: DeliveredFile, column: number, row: number, { originX, originY, size }: TileGrid): Tile {
  const corner = { x: originX + column * size, y: originY + row * size };
  return { file, corner, place: { column, row }, fault: null };
}

function tileByExtent(file: DeliveredFile, grid: TileGrid): Tile {
  const { header, horizontalUnit } = file;
  if (!header || header.pointCount === 0) return { file, corner: null, place: null, fault: null };
  const [column, row] = [0, 1].map((axis) =>
    Math.floor(
      (((header.min[axis] + header.max[axis]) / 2) * horizontalUnit - [grid.originX, grid.originY][axis]) / grid.size,
    ),
  );
  return Number.isFinite(column + row)
    ? tileAt(file, column, row, grid)
    : { file, corner: null, place: null, fault: null };
}

/** Tiles that should be there and are not: how many, and the first of them by row, then column. */
export interface MissingTiles {
  count: number;
  first: { column: number; row: number }[];
}

/** Missing are tiles that the zone touches, or without a zone those that other tiles enclose. */
export function missingTiles(
  tiles: readonly Tile[],
  zone: Zone | null,
  { size, originX, originY }: TileGrid,
  listed: number,
): MissingTiles {
  const places = tiles
    .map(({ place }) => place)
    .filter((p) => p !== null)
    .filter(({ column, row }) => column === (column | 0) && row === (row | 0));
  const missing: MissingTiles = { count: 0, first: [] };
  const add = (column: number, row: number) => {
    missing.count++;
    if (missing.first.length < listed) missing.first.push({ column, row });
  };
  if (zone === null) {
    const { column, row, source } = outlineCells(
      Int32Array.from(places, (p) => p.column),
      Int32Array.from(places, (p) => p.row),
      0,
    );
    for (let k = 0; k < source.length; k++) if (source[k] < 0) add(column[k], row[k]);
    return missing;
  }
  const there = new Set(places.map(({ column, row }) => `${column} ${row}`));
  const shift = (ring: Float64Array) => ring.map((v, i) => v - (i % 2 === 0 ? originX : originY));
  const polygons = zone.polygons.map(({ outer, holes }) => ({ outer: shift(outer), holes: holes.map(shift) }));
  const raster = zoneRaster(zone.name, polygons, size);
  for (let row = raster.minRow; row < raster.minRow + raster.rows; row++) {
    // Tiles that the zone fills and tiles that its edge cuts, from left to right.
    const runs = [...pairs(raster.runs(row)), ...pairs(raster.partialRuns(row))].sort(([a], [b]) => a - b);
    for (const [begin, end] of runs) {
      for (let column = begin; column < end; column++) if (!there.has(`${column} ${row}`)) add(column, row);
    }
  }
  return missing;
}

function* pairs(runs: Int32Array): Generator<[begin: number, end: number]> {
  for (let i = 0; i < runs.length; i += 2) yield [runs[i], runs[i + 1]];
}

/** Extent of the points of a file, world metres: min x, y, max x, y. */
export interface FileExtent {
  file: DeliveredFile;
  box: readonly number[];
}

export interface Overlap {
  a: DeliveredFile;
  b: DeliveredFile;
  /** Square metres of the rectangle that both extents hold, and its middle. */
  area: number;
  x: number;
  y: number;
}

/** Pairs of files whose extents share more than a strip of `tolerance`, the largest area first. */
export function overlapsOf(extents: readonly FileExtent[], tolerance: number): Overlap[] {
  const sorted = [...extents].sort((p, q) => p.box[0] - q.box[0] || p.file.index - q.file.index);
  const found: Overlap[] = [];
  let open: FileExtent[] = [];
  for (const extent of sorted) {
    open = open.filter((other) => other.box[2] - extent.box[0] > tolerance);
    for (const other of open) {
      const width = Math.min(extent.box[2], other.box[2]) - extent.box[0];
      const y0 = Math.max(extent.box[1], other.box[1]);
      const height = Math.min(extent.box[3], other.box[3]) - y0;
      if (width <= tolerance || height <= tolerance) continue;
      const [a, b] = other.file.index < extent.file.index ? [other.file, extent.file] : [extent.file, other.file];
      found.push({ a, b, area: width * height, x: extent.box[0] + width / 2, y: y0 + height / 2 });
    }
    open.push(extent);
  }
  return found.sort((p, q) => q.area - p.area || p.a.index - q.a.index || p.b.index - q.b.index);
}
