import { describe, expect, it } from 'vitest';
import { classification } from '../../src/checks/classification.js';
import type { FileAttributes } from '../../src/measure/attribute-codes.js';
import { Code } from '../../src/measure/attributes/code-counts.js';
import type { GroundCells } from '../../src/measure/ground-cells.js';
import { createSceneColumns, joinPoints, type SceneColumns } from '../../src/simulate/writer/point-columns.js';
import { assayFiles, assayOne, lasOf, soundStreet, zonesOf } from './check-files.js';
import { judge, requirementOf } from './judge.js';

function counted(classes: Record<number, number>): FileAttributes {
  const first = { x: 0, y: 0, z: 0 };
  const codes = new Map(Object.entries(classes).map(([c, points]) => [Code.class + Number(c), { points, first }]));
  const points = Object.values(classes).reduce((sum, n) => sum + n, 0);
  return { file: 0, points, withheld: 0, codes, intensity: null, colourMax: null, time: null };
}

/** A row of cells: lowest and highest ground, lowest other, least and largest lowest ground around. */
function cellsOf(rows: [number, number, number, number, number][]): GroundCells {
  const column = (k: number) => Float64Array.from(rows, (row) => row[k]);
  return {
    cell: 1,
    column: Int32Array.from(rows.keys()),
    row: new Int32Array(rows.length),
    low: column(0),
    high: column(1),
    otherLow: column(2),
    aroundMin: column(3),
    aroundMax: column(4),
  };
}

const NONE = Number.NaN;
const sound: [number, number, number, number, number] = [5, 5.1, 5.2, 4.9, 5.1];

describe('classification', () => {
  it('shares of classes, over all files', () => {
    const files = [counted({ 2: 300, 5: 100 }), counted({ 2: 100, 6: 500 })];
    const judged = (shares: object[]) => judge(classification, { shares }, { attributes: files });
    expect(judged([{ class: 2, min: 0.4, max: 0.4 }]).state).toBe('pass');
    expect(judged([{ class: 2, min: 0.41 }]).state).toBe('fail');
    const verdict = judged([
      { class: 5, max: 0.09 },
      { class: 9, min: 0.01 },
      { class: 6, min: 0.5 },
    ]);
    expect([verdict.state, verdict.measured.sharesOutside.value]).toEqual(['fail', 2]);
    expect(verdict.summary).toBe(
      'In the delivery class 5 is 10.0 % of the points (required: at most 9.0 %), class 9 is 0.0 % of the points (required: at least 1.0 %).',
    );
    const [table] = verdict.evidence;
    expect(table.kind === 'table' && table.rows.map((r) => r.slice(0, 2))).toEqual([
      [2, 400],
      [5, 100],
      [6, 500],
      [9, 0],
    ]);
    expect(judge(classification, { shares: [{ class: 2 }] }, { attributes: [] }).state).toBe('undetermined');
  });

  it('ground below other points, high ground, low ground: by the share of cells, the worst first', () => {
    const cells = cellsOf([
      sound,
      sound,
      [5, 5.1, 4.5, 4.9, 5.1],
      [5, 7, NONE, 4.9, 5.1],
      [3, 5, 4, 4.9, 5.1],
      sound,
      sound,
      sound,
      sound,
      [5, 5.1, 4.7, 4.9, 5.1],
    ]);
    const limits = { maxNotLowest: 0.1, maxHighGround: 0.1, maxLowGround: 0.1 };
    const verdict = judge(classification, limits, { ground: cells });
    expect(verdict.measured).toMatchObject({
      groundCells: { value: 10 },
      notLowest: { value: 0.1 },
      highGround: { value: 0.1 },
      lowGround: { value: 0.1 },
    });
    expect(verdict.state).toBe('pass');
    expect(judge(classification, { ...limits, maxHighGround: 0.09 }, { ground: cells }).state).toBe('fail');
    // 0.3 m itself does not count, so the last cell is not among those below a step of 0.3 m, but of 0.29 m.
    expect(judge(classification, { ...limits, step: 0.29 }, { ground: cells }).measured.notLowest.value).toBe(0.2);
    const places = verdict.evidence.filter((e) => e.kind === 'locations');
    expect(places.map((p) => p.items.map((i) => [i.x, i.z, Math.round(i.value! * 1000)]))).toEqual([
      [[2.5, 4.5, 500]],
      [[3.5, 7, 1900]],
      [[4.5, 3, 1900]],
    ]);
  });

  it('a cell without neighbours is not judged against them; without any nothing is', () => {
    const alone = cellsOf([[5, 9, NONE, NONE, NONE]]);
    expect(judge(classification, { maxHighGround: 0 }, { ground: alone }).state).toBe('undetermined');
    expect(judge(classification, { maxNotLowest: 0 }, { ground: alone }).state).toBe('pass');
    const some = cellsOf([sound, [5, 9, NONE, NONE, NONE]]);
    expect(judge(classification, { maxHighGround: 0 }, { ground: some }).state).toBe('pass');
    expect(judge(classification, { maxLowGround: 0 }, { ground: cellsOf([]) }).state).toBe('undetermined');
  });

  it('asks for at least one limit, and explains itself', () => {
    expect(() => requirementOf({ check: 'classification' })).toThrow();
    const requirement = requirementOf({
      check: 'classification',
      shares: [{ class: 2, min: 0.2 }],
      maxLowGround: 0.001,
    });
    expect(classification.explain(requirement as never)).toBe(
      'In the delivery: class 2 must be at least 20.0 % of the points; at most 0.1 % of the 1 m cells with ground may have ground points deep below the ground around by more than 300.0 mm. Ground is class 2.',
    );
  });
});

/** One point a place: easting, northing, height, class. */
function extra(places: [number, number, number, number][]): SceneColumns {
  const points = createSceneColumns(places.length);
  points.count = places.length;
  places.forEach(([x, y, z, kind], k) => {
    points.x[k] = x;
    points.y[k] = y;
    points.z[k] = z;
    points.classification[k] = kind;
    points.returnNumber[k] = points.returnCount[k] = 1;
    points.pointSourceId[k] = 1;
    points.gpsTime[k] = 419_724_800;
  });
  return points;
}

describe('classification from file to report', () => {
  const street = soundStreet();
  const requirement = { check: 'classification', ground: [2, 11], maxNotLowest: 0, maxHighGround: 0, maxLowGround: 0 };

  it('a sound street passes', async () => {
    const result = await assayOne({ 'a.las': lasOf(street) }, requirement);
    expect(result.measured).toMatchObject({ notLowest: 0, highGround: 0, lowGround: 0 });
    expect(result.measured.groundCells!).toBeGreaterThan(150);
    expect(result.verdict).toBe('pass');
  });

  it('finds exactly the cells planted, for any split', async () => {
    // The road is near 3.2 m high; two points of a kind in one cell are one cell.
    const planted = extra([
      [561_003.5, 5_932_200.5, 1.2, 2],
      [561_003.6, 5_932_200.6, 1.0, 2],
      [561_012.5, 5_932_201.5, 2.2, 11],
      [561_006.5, 5_932_198.5, 6, 2],
      [561_015.5, 5_932_198.5, 5, 2],
      [561_017.5, 5_932_202.5, 5.5, 11],
      [561_009.5, 5_932_202.5, 2, 1],
      [561_011.5, 5_932_198.5, 0, 7],
      [561_011.5, 5_932_198.5, 40, 18],
    ]);
    const bytes = lasOf(joinPoints([street, planted]));
    const report = await assayFiles({ 'a.las': bytes }, [requirement]);
    const [result] = report.requirements;
    const cells = result.measured.groundCells!;
    const share = (n: number) => n / cells;
    expect(Math.round(result.measured.notLowest! * cells)).toBe(1);
    expect(result.measured.notLowest).toBe(share(1));
    expect(result.locations.filter((l) => l.note.startsWith('ground point above')).map((l) => [l.x, l.y])).toEqual([
      [561_006.5, 5_932_198.5],
      [561_017.5, 5_932_202.5],
      [561_015.5, 5_932_198.5],
    ]);
    expect(result.locations.filter((l) => l.note.startsWith('ground point below')).map((l) => [l.x, l.y])).toEqual([
      [561_003.5, 5_932_200.5],
      [561_012.5, 5_932_201.5],
    ]);
    expect(result.verdict).toBe('fail');
    const again = await assayFiles({ 'a.las': bytes }, [requirement], { spanPoints: 2500 });
    expect(again.requirements).toEqual(report.requirements);
  });

  it('takes shares inside a zone', async () => {
    const n = street.count;
    const west = Array.from({ length: n }, (_, i) => i).filter((i) => street.x[i] < 561_010);
    const truth = west.filter((i) => street.classification[i] === 6).length / west.length;
    const zones = zonesOf(['west', 560_000, 5_932_000, 561_010, 5_933_000]);
    const result = await assayOne(
      { 'a.las': lasOf(street) },
      { check: 'classification', zone: 'west', shares: [{ class: 6, min: truth - 1e-9, max: truth + 1e-9 }] },
      { zones },
    );
    expect(result.verdict).toBe('pass');
  });
});
