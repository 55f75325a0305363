import { Fault } from '../fault.js';
import { readTextFile } from './text-file.js';
import { type AreaNaming, namedAreas, type Zone, type ZoneOptions } from './zones.js';

/** An agreed tile: its name and its outline; closed rings as flat x, y, x, y ... in metres. */
export type IndexTile = Zone;

const TILES: AreaNaming = {
  noun: 'tile',
  keys: ['tile', 'name', 'file', 'filename', 'id'],
  use: 'the file of the tile is told by it',
  file: 'tile index',
};

/**
 * Reads a tile index from GeoJSON: a Polygon or MultiPolygon feature for every tile, with the name of its file in the
 * property `tile`, `name`, `file`, `filename` or `id`, with or without folder and extension. Coordinates as in zones files.
 *
 * @throws Fault `file-missing`, `file-unreadable`, `json-syntax`, `geojson-shape`, `tiles-empty`, `tile-name`,
 * `tile-double`, `zone-shape`, `degrees`
 */
export async function readTileIndex(path: string, options: ZoneOptions = {}): Promise<IndexTile[]> {
  return parseTileIndex(await readTextFile(path, TILES.file), path, options);
}

/** As readTileIndex, for a text; `where` names it in messages. */
export function parseTileIndex(text: string, where: string, options: ZoneOptions = {}): IndexTile[] {
  const areas = namedAreas(text, where, options, TILES);
  const known = new Map<string, string>();
  for (const { name, place } of areas) {
    const key = tileKey(name);
    const before = known.get(key);
    if (before !== undefined) {
      throw new Fault({
        code: 'tile-double',
        what: `the tile ${name} is listed twice`,
        where: place,
        found: before === name ? 'the same name' : before,
        advice: 'Give every tile a name of its own; parts of one tile belong into a MultiPolygon',
      });
    }
    known.set(key, name);
  }
  return areas.map(({ name, polygons }) => ({ name, polygons }));
}

/** Key that matches a file to its tile: the name without folder and extension, in lower case. */
export function tileKey(name: string): string {
  const base = name.split(/[/\\]/).at(-1) ?? name;
  return base
    .replace(/(\.copc)?\.la[sz]$/i, '')
    .normalize('NFC')
    .toLowerCase();
}
