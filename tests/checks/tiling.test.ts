import { describe, expect, it } from 'vitest';
import { tiling } from '../../src/checks/tiling.js';
import type { TallyRow } from '../../src/measure/tally.js';
import { fileOf, judge, squareZone } from './judge.js';

/** One file whose points reach from corner to corner, metres. */
function tile(index: number, name: string, x0: number, y0: number, x1: number, y1: number) {
  const row: TallyRow = {
    file: index,
    pass: 1,
    points: 10,
    withheld: 0,
    box: [x0, y0, 0, x1, y1, 1].map((v) => v * 10_000),
  };
  return { row, file: fileOf(name, index, { header: { min: [x0, y0, 0], max: [x1, y1, 1] } }) };
}

function judgeTiles(
  tiles: ReturnType<typeof tile>[],
  options: Record<string, unknown>,
  zones = [] as ReturnType<typeof squareZone>[],
) {
  return judge(tiling, { size: 50, ...options }, [tiles.map((t) => t.row)], { files: tiles.map((t) => t.file), zones });
}

const NAME = { name: 'quay_{x}_{y}' };
const west = tile(0, 'quay_561000_5932200.las', 561_000, 5_932_200, 561_049.999, 5_932_249.2);
const east = tile(1, 'tiles/quay_561050_5932200.copc.laz', 561_050, 5_932_200.4, 561_099.5, 5_932_249.999);

describe('tiling', () => {
  it('passes tiles that lie in their squares and are named after their corners', () => {
    const verdict = judgeTiles([west, east], NAME);
    expect(verdict.state).toBe('pass');
    expect(verdict.measured).toMatchObject({
      tiles: { value: 2 },
      overlapping: { value: 0 },
      misplaced: { value: 0 },
      missing: { value: null },
    });
  });

  it('finds points outside their tile, with the distance', () => {
    const over = tile(1, 'quay_561050_5932200.las', 561_049.95, 5_932_200, 561_099, 5_932_249);
    const verdict = judgeTiles([west, over], NAME);
    expect(verdict.state).toBe('fail');
    expect(verdict.measured.misplaced.value).toBe(1);
    expect(JSON.stringify(verdict.evidence)).toContain('0.050 m outside the tile at 561050, 5932200');
    expect(judgeTiles([west, over], { ...NAME, tolerance: 0.1 }).state).toBe('pass');
  });

  it('finds names that say another corner or follow another pattern', () => {
    const liar = tile(1, 'quay_561100_5932200.las', 561_050, 5_932_200, 561_099, 5_932_249);
    expect(JSON.stringify(judgeTiles([west, liar], NAME).evidence)).toContain('the name says 561100, 5932200');
    const other = tile(1, 'road-7.las', 561_050, 5_932_200, 561_099, 5_932_249);
    expect(JSON.stringify(judgeTiles([west, other], NAME).evidence)).toContain('does not follow quay_{x}_{y}');
    const kilometres = tile(0, 'n_5932_e_561.las', 561_000, 5_932_000, 561_999, 5_932_999);
    expect(judgeTiles([kilometres], { size: 1000, name: 'n_{y}_e_{x}', nameUnit: 1000 }).state).toBe('pass');
  });

  it('finds two files on one tile', () => {
    const again = tile(1, 'quay_561000_5932200_new.las', 561_010, 5_932_210, 561_040, 5_932_240);
    const verdict = judgeTiles([west, again], {});
    expect(verdict.measured.overlapping.value).toBe(2);
    expect(verdict.state).toBe('fail');
  });

  it('finds tiles of a zone that are missing, and honours the origin of the grid', () => {
    const verdict = judgeTiles([west, east], { zone: 'road' }, [
      squareZone('road', 561_010, 5_932_210, 561_120, 5_932_240),
    ]);
    expect(verdict.measured.missing.value).toBe(1);
    expect(JSON.stringify(verdict.evidence)).toContain('no file for the tile at 561100, 5932200');
    const shifted = tile(0, 'a.las', 561_010, 5_932_220, 561_059, 5_932_269);
    expect(judgeTiles([shifted], { originX: 10, originY: 20 }).state).toBe('pass');
    expect(judgeTiles([shifted], {}).state).toBe('fail');
  });

  it('is undetermined when nothing was read', () => {
    expect(judgeTiles([], {}).state).toBe('undetermined');
  });
});
