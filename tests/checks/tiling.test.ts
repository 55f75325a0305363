import { describe, expect, it } from 'vitest';
import { type TileGrid, tilesOf } from '../../src/checks/tiles/tile-grid.js';
import { tileNames } from '../../src/checks/tiles/tile-names.js';
import { tiling } from '../../src/checks/tiling.js';
import { Fault } from '../../src/fault.js';
import type { OutsideBox } from '../../src/measure/outside-boxes.js';
import { joinPoints, type SceneColumns, selectPoints } from '../../src/simulate/writer/point-columns.js';
import { assayFiles, assayOne, lasOf, soundStreet, zonesOf } from './check-files.js';
import { deliveryOf, fileOf, judge, requirementOf, squareZone } from './judge.js';

const GRID: TileGrid = { size: 100, originX: 0, originY: 0, nameUnit: 1, nameCorner: 'lower-left', tolerance: 0.001 };

describe('names of tiles', () => {
  it('tell coordinates or places', () => {
    expect(tileNames('quay_{x}_{y}')('2025/quay_561000_5932175.laz')).toEqual({
      by: 'coordinates',
      x: 561_000,
      y: 5_932_175,
    });
    expect(tileNames('quay_{x}_{y}')('quay_561000_5932175.copc.laz')).not.toBeNull();
    expect(tileNames('quay_{x}_{y}.las')('quay_561000_5932175.laz')).toBeNull();
    expect(tileNames('{x:6}{y:7}')('5610005932175.las')).toEqual({ by: 'coordinates', x: 561_000, y: 5_932_175 });
    expect(tileNames('t{x}_{y}')('t-1.5_2.25.las')).toEqual({ by: 'coordinates', x: -1.5, y: 2.25 });
    expect(tileNames('*-r{row}c{column}')('lot 7 (new)-r3c-12.las')).toEqual({ by: 'place', column: -12, row: 3 });
    expect(tileNames('a.b({x}+{y})')('a.b(1+2).las')).toEqual({ by: 'coordinates', x: 1, y: 2 });
    expect(tileNames('a.b({x}+{y})')('axb(1+2).las')).toBeNull();
  });

  it('refuse patterns that tell no place', () => {
    for (const pattern of ['quay', '{x}_{x}', '{x}', '{x}_{row}', '{x}_{y}_{z}', '****{x}_{y}', '{x}_{y}}'])
      expect(() => tileNames(pattern)).toThrow(Fault);
    expect(() =>
      tiling.needs(requirementOf({ check: 'tiling', size: 10, name: 'tile' }) as never, { delivery: deliveryOf() }),
    ).toThrow(Fault);
  });

  it('give the corner whichever point of the tile they mean, in any unit', () => {
    const corner = (name: string, more: Partial<TileGrid>) =>
      tilesOf([fileOf(name, 0)], { ...GRID, name: '{x}_{y}', ...more })[0];
    expect(corner('300_500.las', {}).corner).toEqual({ x: 300, y: 500 });
    expect(corner('300_500.las', { nameCorner: 'upper-left' }).corner).toEqual({ x: 300, y: 400 });
    expect(corner('350_550.las', { nameCorner: 'centre' }).place).toEqual({ column: 3, row: 5 });
    expect(corner('561_5932.las', { nameUnit: 1000, size: 1000 }).corner).toEqual({ x: 561_000, y: 5_932_000 });
    expect(corner('330_500.las', { originX: 30 }).place).toEqual({ column: 3, row: 5 });
    expect(corner('330_500.las', {})).toMatchObject({ place: null, corner: { x: 330, y: 500 } });
    expect(corner('other.las', {}).fault).toContain('{x}_{y}');
  });
});

/** Files of one tile each, on a grid of 100 m, with points just inside; and nothing outside. */
function delivered(places: [number, number][], more: { extent?: number } = {}) {
  const files = places.map(([x, y], k) =>
    fileOf(`t_${x}_${y}.las`, k, { header: { min: [x, y, 0], max: [x + 99, y + 99, 1] } }),
  );
  const grow = more.extent ?? 0;
  const rows = places.map(([x, y], file) => ({
    file,
    pass: 1,
    points: 10,
    withheld: 0,
    box: [x, y, 0, x + 99.999 + grow, y + 99.999, 1].map((v) => v * 10_000),
  }));
  return { files, rows };
}

describe('tiling', () => {
  const block = [0, 100, 200].flatMap((x) => [0, 100, 200].map((y) => [x, y] as [number, number]));

  it('passes a whole block, and finds the tile missing in its middle', () => {
    const whole = delivered(block);
    const judged = judge(tiling, { size: 100, name: 't_{x}_{y}' }, { outside: [], counts: whole.rows }, whole);
    expect([judged.state, judged.measured.tiles.value, judged.measured.missing.value]).toEqual(['pass', 9, 0]);
    const holed = delivered(block.filter(([x, y]) => x !== 100 || y !== 100));
    const verdict = judge(tiling, { size: 100 }, { outside: [], counts: holed.rows }, holed);
    expect([verdict.state, verdict.measured.missing.value]).toEqual(['fail', 1]);
    const [places] = verdict.evidence;
    expect(places.kind === 'locations' && places.items[0]).toMatchObject({ x: 150, y: 150, value: 10_000, unit: 'm2' });
  });

  it('in a zone every tile it touches must be there, but not one it only borders on', () => {
    const some = delivered([
      [0, 0],
      [100, 0],
    ]);
    const missing = (zone: ReturnType<typeof squareZone>) =>
      judge(tiling, { size: 100, zone: 'z' }, { outside: [], counts: some.rows }, { ...some, zones: [zone] }).measured
        .missing.value;
    expect(missing(squareZone('z', 0, 0, 200, 100))).toBe(0);
    expect(missing(squareZone('z', 0, 0, 200, 100.5))).toBe(2);
    // Five columns and two rows, of which two tiles are there.
    expect(missing(squareZone('z', -1, -1, 301, 99))).toBe(8);
    expect(() => judge(tiling, { size: 100, zone: 'w' }, { outside: [], counts: [] }, some)).toThrow(Fault);
  });

  it('finds pairs of files whose extents share more than the tolerance', () => {
    const wide = delivered(
      [
        [0, 0],
        [100, 0],
        [0, 100],
      ],
      { extent: 2 },
    );
    const verdict = judge(tiling, { size: 100 }, { outside: [], counts: wide.rows }, wide);
    expect([verdict.state, verdict.measured.overlapping.value]).toEqual(['fail', 2]);
    const [places] = verdict.evidence;
    const [item] = places.kind === 'locations' ? places.items : [];
    // From 100 to 101.999 wide, 0 to 99.999 high.
    expect(item.value).toBeCloseTo(1.999 * 99.999, 6);
    expect([item.x, item.y]).toEqual([100.9995, 49.9995]);
    expect(
      judge(tiling, { size: 100, tolerance: 2 }, { outside: [], counts: wide.rows }, wide).measured.overlapping.value,
    ).toBe(0);
  });

  it('counts points outside, the file with the most first', () => {
    const two = delivered([
      [0, 0],
      [100, 0],
    ]);
    const outside: OutsideBox[] = [
      { file: 0, points: 10, outside: 2, worst: { x: -1, y: 5, distance: 0.999 } },
      { file: 1, points: 10, outside: 7, worst: { x: 250, y: 5, distance: 50 } },
    ];
    const verdict = judge(tiling, { size: 100 }, { outside, counts: two.rows }, two);
    expect([verdict.state, verdict.measured.misplaced.value, verdict.measured.outside.value]).toEqual(['fail', 2, 9]);
    const [places] = verdict.evidence;
    expect(places.kind === 'locations' && places.items.map((i) => [i.file, i.value])).toEqual([
      ['t_100_0.las', 7],
      ['t_0_0.las', 2],
    ]);
  });

  it('a file with a wrong name is misplaced too, and counted once', () => {
    const two = delivered([
      [0, 0],
      [100, 0],
    ]);
    const outside: OutsideBox[] = [{ file: 0, points: 10, outside: 10, worst: { x: 50, y: 5, distance: 50 } }];
    const verdict = judge(tiling, { size: 100, name: 't_{x}_1{y}' }, { outside, counts: two.rows }, two);
    expect([verdict.measured.misplaced.value, verdict.measured.outside.value]).toEqual([2, 10]);
    const table = verdict.evidence.find((e) => e.kind === 'table')!;
    expect(table.kind === 'table' && table.rows.map((r) => r[0])).toEqual(['t_0_0.las', 't_100_0.las']);
  });

  it('is undetermined when no header could be read', () => {
    const files = [{ ...fileOf('a.las', 0), header: null }];
    expect(judge(tiling, { size: 100 }, { outside: [], counts: [] }, { files }).state).toBe('undetermined');
  });
});

describe('tiling from file to report', () => {
  const street = soundStreet();
  const tile = (x: number, y: number, points: SceneColumns = street) =>
    selectPoints(points, (i) => points.x[i] >= x && points.x[i] < x + 10 && points.y[i] >= y && points.y[i] < y + 10);
  const corners = [
    [561_000, 5_932_190],
    [561_010, 5_932_190],
    [561_000, 5_932_200],
    [561_010, 5_932_200],
  ] as const;
  const cut = () => Object.fromEntries(corners.map(([x, y]) => [`quay_${x}_${y}.las`, tile(x, y)]));
  const written = (tiles: Record<string, SceneColumns>) =>
    Object.fromEntries(Object.entries(tiles).map(([name, points]) => [name, lasOf(points)]));
  const requirement = { check: 'tiling', size: 10, name: 'quay_{x}_{y}' };

  it('passes sound tiles, by name and by extent', async () => {
    const report = await assayFiles(written(cut()), [requirement, { check: 'tiling', size: 10 }]);
    expect(report.requirements.map((r) => r.verdict)).toEqual(['pass', 'pass']);
    expect(report.requirements[0].measured).toEqual({
      tiles: 4,
      missing: 0,
      overlapping: 0,
      misplaced: 0,
      outside: 0,
    });
  });

  it('finds exactly the points that went into the wrong file, for any split', async () => {
    const tiles = cut();
    const [a, , , d] = Object.keys(tiles);
    const strays = selectPoints(tiles[d], (i) => i % 400 === 7);
    tiles[a] = joinPoints([tiles[a], strays]);
    const report = await assayFiles(written(tiles), [requirement]);
    const [result] = report.requirements;
    expect(result.measured).toMatchObject({ outside: strays.count, misplaced: 1 });
    expect(result.measured.overlapping).toBeGreaterThan(1);
    expect(result.verdict).toBe('fail');
    const again = await assayFiles(written(tiles), [requirement], { spanPoints: 999 });
    expect(again.requirements).toEqual(report.requirements);
  });

  it('finds a missing tile in a zone, a doubled one, and a wrong name', async () => {
    const tiles = cut();
    const names = Object.keys(tiles);
    const zones = zonesOf(['site', 561_000, 5_932_190, 561_020, 5_932_210]);
    const { [names[3]]: gone, ...rest } = tiles;
    const holed = await assayOne(written(rest), { ...requirement, zone: 'site' }, { zones });
    expect(holed.measured).toMatchObject({ tiles: 3, missing: 1, misplaced: 0 });
    expect(holed.locations[0]).toMatchObject({ x: 561_015, y: 5_932_205 });
    const doubled = await assayOne(written({ ...tiles, 'quay_561010_5932200_b.las': gone }), requirement);
    expect(doubled.measured).toMatchObject({ overlapping: 2, misplaced: 1, outside: 0 });
    const off = await assayOne(written({ ...rest, 'quay_561011_5932200.las': gone }), requirement);
    expect(off.measured.misplaced).toBe(1);
  });

  it('understands coordinates in feet', async () => {
    // International feet, 0.3048 m by definition; the tile of 100 ft whose corner the name tells cuts the street in two.
    const foot = 0.3048;
    const [x0, y0] = [Math.ceil(561_005 / foot), Math.floor(5_932_185 / foot)];
    const inFeet = (values: Float64Array) => values.map((v) => v / foot);
    const points = { ...street, x: inFeet(street.x), y: inFeet(street.y), z: inFeet(street.z) };
    const spec = {
      check: 'tiling',
      size: 100 * foot,
      tolerance: 0.001,
      originX: x0 * foot,
      originY: y0 * foot,
      name: 't_{x}_{y}',
      nameUnit: foot,
    };
    const bytes = lasOf(points, { crs: null, offset: [x0, y0, 0] });
    const result = await assayOne({ [`t_${x0}_${y0}.las`]: bytes }, spec, { crs: { unit: 'foot' } });
    // Stored to a thousandth of a foot; points within a millimetre of the edge count as inside.
    const west = Array.from(points.x.subarray(0, points.count)).filter(
      (x) => Math.round((x - x0) * 1000) * foot < -1,
    ).length;
    expect(west).toBeGreaterThan(1000);
    expect(result.measured).toMatchObject({ misplaced: 1, outside: west });
  });
});

/** GeoJSON of square tiles of 10 m: [name, x, y]. */
function indexOf(...tiles: (readonly [string, number, number])[]): string {
  return zonesOf(...tiles.map(([name, x, y]) => [name, x, y, x + 10, y + 10] as const));
}

describe('tiling against a tile index', () => {
  const square = (name: string, x: number, y: number) => squareZone(name, x, y, x + 100, y + 100);
  const index = [square('t_0_0', 0, 0), square('folder/T_100_0.laz', 100, 0), square('t_0_100', 0, 100)];
  const judged = (places: [number, number][], more: object = {}, delivery: object = {}) => {
    const some = delivered(places);
    const facts = { ...some, tileIndex: index, ...delivery };
    return judge(tiling, { index: true, ...more }, { outside: [], counts: some.rows }, facts);
  };
  const values = (verdict: ReturnType<typeof judge>) =>
    Object.fromEntries(Object.entries(verdict.measured).map(([name, { value }]) => [name, value]));

  it('passes when every listed tile is there and no other', () => {
    const verdict = judged([
      [0, 0],
      [100, 0],
      [0, 100],
    ]);
    expect(verdict.state).toBe('pass');
    expect(values(verdict)).toEqual({ tiles: 3, missing: 0, unlisted: 0, overlapping: 0, misplaced: 0, outside: 0 });
    expect(verdict.summary).toBe('3 tiles of the tile index, each in its place, and all are there.');
  });

  it('names tiles that are missing, with their middle and area, and files that are not listed', () => {
    const verdict = judged([
      [0, 0],
      [100, 0],
      [500, 500],
    ]);
    expect(verdict.state).toBe('fail');
    expect(values(verdict)).toMatchObject({ tiles: 3, missing: 1, unlisted: 1, misplaced: 0 });
    expect(verdict.summary).toBe('3 files against the tile index: 1 tile missing, 1 file not in the index.');
    const [places, names] = verdict.evidence;
    expect(places.kind === 'locations' && places.items).toMatchObject([
      { x: 50, y: 150, value: 10_000, unit: 'm2', note: 'no file for tile t_0_100' },
    ]);
    expect(names.kind === 'table' && names.rows).toEqual([
      ['t_500_500.las', 'the tile index lists no tile of this name'],
    ]);
    expect(verdict.advice).toHaveLength(2);
  });

  it('in a zone only the tiles it touches must be there', () => {
    const zones = [squareZone('quay', 10, 10, 190, 90), squareZone('all', 10, 10, 190, 190)];
    expect(
      judged(
        [
          [0, 0],
          [100, 0],
        ],
        { zone: 'quay' },
        { zones },
      ).state,
    ).toBe('pass');
    expect(
      values(
        judged(
          [
            [0, 0],
            [100, 0],
          ],
          { zone: 'all' },
          { zones },
        ),
      ).missing,
    ).toBe(1);
  });

  it('a second file for a tile is misplaced', () => {
    const some = delivered([
      [0, 0],
      [100, 0],
      [0, 100],
    ]);
    const files = [...some.files, fileOf('again/T_0_0.laz', 3)];
    const verdict = judge(tiling, { index: true }, { outside: [], counts: some.rows }, { files, tileIndex: index });
    expect(values(verdict)).toMatchObject({ tiles: 4, missing: 0, unlisted: 0, misplaced: 1 });
    expect(JSON.stringify(verdict.evidence)).toContain('t_0_0.las is the file of tile t_0_0 already');
  });

  it('asks for an index, and for nothing that contradicts it', () => {
    const needs = (options: object, tileIndex: typeof index | null) => () =>
      tiling.needs(requirementOf({ check: 'tiling', ...options }) as never, { delivery: deliveryOf({ tileIndex }) });
    expect(needs({ index: true }, index)).not.toThrow();
    expect(needs({ index: true }, null)).toThrow(/--tiles/);
    expect(needs({ index: true, size: 100 }, index)).toThrow(/size cannot be asked together with a tile index/);
    expect(needs({ index: false }, index)).toThrow(/the size of the tiles is needed/);
    expect(() => requirementOf({ check: 'tiling' })).toThrow(/at least one of size, index/);
  });

  it('end to end: points are held against the rectangle round their tile, whatever the unit of the index says', async () => {
    const street = soundStreet();
    const east = selectPoints(street, (i) => street.x[i] >= 561_010);
    const west = selectPoints(street, (i) => street.x[i] < 561_010);
    const files = { 'west.las': lasOf(west), 'east.las': lasOf(east) };
    const xs = [...street.x.subarray(0, street.count)];
    const ys = [...street.y.subarray(0, street.count)];
    const [x0, y0] = [Math.floor(Math.min(...xs)), Math.floor(Math.min(...ys))];
    const [x1, y1] = [Math.ceil(Math.max(...xs)), Math.ceil(Math.max(...ys))];
    const tiles = (border: number) => zonesOf(['west', x0, y0, border, y1], ['EAST.laz', border, y0, x1, y1]);
    const ask = { check: 'tiling', index: true };
    expect((await assayOne(files, ask, { tiles: tiles(561_010) })).verdict).toBe('pass');
    const off = await assayOne(files, ask, { tiles: tiles(561_009) });
    // Every point of the western file beyond the border and the tolerance of 1 cm, counted from the coordinates.
    const beyond = [...Array(street.count).keys()].filter(
      (i) => street.x[i] < 561_010 && Math.round(street.x[i] * 1000) > 561_009_010,
    ).length;
    expect(off.verdict).toBe('fail');
    expect(off.measured).toMatchObject({ misplaced: 1, outside: beyond, missing: 0, unlisted: 0 });
    // A centimetre is the coarsest usual step of coordinates: so far a point may be rounded over the edge of its tile.
    const last = Math.max(...xs.filter((x) => x < 561_010));
    const over = async (metres: number, more = {}) =>
      (await assayOne(files, { ...ask, ...more }, { tiles: tiles(last - metres) })).verdict;
    expect([await over(0.002), await over(0.012), await over(0.002, { tolerance: 0.001 })]).toEqual([
      'pass',
      'fail',
      'fail',
    ]);
    const report = await assayFiles(files, [ask], { tiles: indexOf(['west', 0, 0], ['east', 0, 0], ['north', 0, 10]) });
    expect(report.inputs.map((i) => i.role)).toEqual(['tile index']);
    expect(report.tool.command).toContain('--tiles tiles.geojson');
    expect(report.requirements[0].measured).toMatchObject({ missing: 1, misplaced: 2, outside: street.count });
  });
});
