import { unitFile } from '../../delivery/agreed-system.js';
import type { DeliveredFile, DeliveryFacts } from '../../delivery/delivery.js';
import { type IndexTile, tileKey } from '../../delivery/tile-index.js';
import { type Zone, zoneByName } from '../../delivery/zones.js';
import { Fault } from '../../fault.js';
import { polygonArea, polygonBounds } from '../../geometry/polygon.js';
import { polygonMeetsBox } from '../../geometry/polygon-box.js';
import type { Location } from '../contract/check.js';
import { gridInMetres, missingTiles, type TileGrid, tilesOf } from './tile-grid.js';

/** Options of the check: a grid of squares, or an index that lists the tiles. */
export interface TileOptions extends Omit<TileGrid, 'size'> {
  index: boolean;
  size?: number;
  /** Unit of size, origin and names. */
  unit: 'metre' | 'cloud';
  zone?: string;
}

/** The agreed tiles: where the points of each file should be, and which tiles have none. */
export interface TileScheme {
  /** Such as "of 500 m" or "of the tile index". */
  words: string;
  tiles: {
    file: DeliveredFile;
    /** World metres: min x, y, max x, y, without the tolerance; null where it is not known. */
    box: readonly [number, number, number, number] | null;
    /** Why the file is no tile, or null. */
    fault: string | null;
  }[];
  /** Looked for after measuring only. @throws Fault for a zone too large to be judged */
  missing: () => { count: number; first: Location[] };
  /** Files that are no tile of the index; null for a grid, which has a tile everywhere. */
  unlisted: number | null;
}

/** @throws Fault where an index is asked for but not given, or the zone is not known */
export function schemeOf(options: TileOptions, delivery: DeliveryFacts, listed: number): TileScheme {
  const zone = zoneOf(delivery, options.zone);
  if (!options.index) return gridScheme(options, delivery, zone, listed);
  if (delivery.tileIndex === null) {
    throw new Fault({
      code: 'tiles-missing',
      where: 'tiling',
      what: 'the tiles are to be held against an index, but none was given',
      advice: 'Give it with --tiles',
    });
  }
  return indexScheme(delivery.tileIndex, delivery, zone, listed);
}

function gridScheme(
  options: TileOptions,
  { files, declaredCrs }: DeliveryFacts,
  zone: Zone | null,
  listed: number,
): TileScheme {
  const agreed: TileGrid = { ...options, size: options.size! };
  const grid =
    options.unit === 'cloud' ? gridInMetres(agreed, unitFile(files, declaredCrs)?.horizontalUnit ?? 1) : agreed;
  const { size, originX, originY } = grid;
  const tiles = tilesOf(files, grid);
  return {
    words: `of ${options.size} ${options.unit === 'cloud' ? 'units of the cloud' : 'm'}`,
    tiles: tiles.map(({ file, corner, fault }) => ({
      file,
      box: corner === null ? null : [corner.x, corner.y, corner.x + size, corner.y + size],
      fault,
    })),
    missing: () => {
      const { count, first } = missingTiles(tiles, zone, grid, listed);
      return {
        count,
        first: first.map(({ column, row }) => ({
          x: originX + (column + 0.5) * size,
          y: originY + (row + 0.5) * size,
          value: size * size,
          unit: 'm2',
          note: `no file for the tile at ${originX + column * size}, ${originY + row * size}`,
        })),
      };
    },
    unlisted: null,
  };
}

function indexScheme(
  index: readonly IndexTile[],
  { files }: DeliveryFacts,
  zone: Zone | null,
  listed: number,
): TileScheme {
  const byKey = new Map(index.map((tile) => [tileKey(tile.name), tile]));
  const taken = new Map<IndexTile, DeliveredFile>();
  let unlisted = 0;
  const tiles = files.map((file): TileScheme['tiles'][number] => {
    const tile = byKey.get(tileKey(file.name));
    if (tile === undefined) {
      unlisted++;
      return { file, box: null, fault: 'the tile index lists no tile of this name' };
    }
    const other = taken.get(tile);
    taken.set(tile, other ?? file);
    const fault = other === undefined ? null : `${other.name} is the file of tile ${tile.name} already`;
    return { file, box: boxOf(tile), fault };
  });
  const missing = index.filter((tile) => !taken.has(tile) && (zone === null || meets(zone, tile)));
  return {
    words: 'of the tile index',
    tiles,
    missing: () => ({ count: missing.length, first: missing.slice(0, listed).map(placeOf) }),
    unlisted,
  };
}

/** The rectangle round a tile: of tiles in another shape no more is tested. */
function boxOf(tile: IndexTile): readonly [number, number, number, number] {
  const { minX, minY, maxX, maxY } = polygonBounds(tile.polygons)!;
  return [minX, minY, maxX, maxY];
}

function meets(zone: Zone, tile: IndexTile): boolean {
  const box = polygonBounds(tile.polygons)!;
  return zone.polygons.some((polygon) => polygonMeetsBox(polygon, box));
}

function placeOf(tile: IndexTile): Location {
  const [x0, y0, x1, y1] = boxOf(tile);
  return {
    x: (x0 + x1) / 2,
    y: (y0 + y1) / 2,
    value: tile.polygons.reduce((sum, polygon) => sum + polygonArea(polygon), 0),
    unit: 'm2',
    note: `no file for tile ${tile.name}`,
  };
}

function zoneOf(delivery: DeliveryFacts, name: string | undefined): Zone | null {
  return name === undefined ? null : zoneByName(delivery, name);
}
