import { expect, it } from 'vitest';
import { enclosedSquares } from '../../src/geometry/enclosed-squares.js';
import { outlineCells } from '../../src/geometry/outline.js';
import { seeded } from './seeded.js';

/** Which cells of a grid, with a margin of empty ones, are reached from its corner along rows and columns. */
function reached(width: number, height: number, isOpen: (x: number, y: number) => boolean): Uint8Array {
  const seen = new Uint8Array(width * height);
  const waiting = [[0, 0]];
  seen[0] = 1;
  for (let next = waiting.pop(); next !== undefined; next = waiting.pop()) {
    const [x, y] = next;
    for (const [p, q] of [
      [x - 1, y],
      [x + 1, y],
      [x, y - 1],
      [x, y + 1],
    ]) {
      if (p < 0 || q < 0 || p >= width || q >= height || seen[q * width + p] || !isOpen(p, q)) continue;
      seen[q * width + p] = 1;
      waiting.push([p, q]);
    }
  }
  return seen;
}

const random = seeded(12).uniform;

it('squares that others enclose are those that no path from outside reaches', () => {
  let found = 0;
  for (let round = 0; round < 120; round++) {
    const size = 4 + (round % 17);
    const share = [0.35, 0.5, 0.6, 0.7][round % 4];
    const taken = Array.from({ length: size * size }, () => random() < share);
    const squares = taken.flatMap((yes, k) => (yes ? [[(k % size) - 5, Math.floor(k / size) + 70] as const] : []));
    const outside = reached(size + 2, size + 2, (x, y) => {
      const inside = x > 0 && y > 0 && x <= size && y <= size;
      return !(inside && taken[(y - 1) * size + x - 1]);
    });
    const expected = taken.flatMap((yes, k) => {
      const [x, y] = [k % size, Math.floor(k / size)];
      return yes || outside[(y + 1) * (size + 2) + x + 1] ? [] : [`${x - 5} ${y + 70}`];
    });
    const enclosed = enclosedSquares([...squares].reverse()).map(([x, y]) => `${x} ${y}`);
    expect(enclosed.sort()).toEqual(expected.sort());
    found += expected.length;
  }
  expect(found).toBeGreaterThan(500);
});

it('the outline is that of the definition, in blocks and across their borders', () => {
  let holes = 0;
  let rims = 0;
  for (let round = 0; round < 9; round++) {
    const size = [30, 80, 150][round % 3];
    const neck = [0, 2, 3][Math.floor(round / 3) % 3];
    const radius = Math.ceil(neck / 2);
    const [west, south] = [-40 + round, 1000 - 3 * round];
    const taken = Array.from({ length: size * size }, (_, k) => {
      const [x, y] = [k % size, Math.floor(k / size)];
      // Streets every 40 cells, with gaps, and a few points beside them.
      return random() < (x % 40 < 7 || y % 40 < 7 ? 0.8 : 0.02);
    });
    const isTaken = (x: number, y: number) => x >= 0 && y >= 0 && x < size && y < size && taken[y * size + x];
    const margin = radius + 2;
    const wide = size + 2 * margin;
    const clear = (x: number, y: number) => {
      for (let dy = -radius; dy <= radius; dy++)
        for (let dx = -radius; dx <= radius; dx++) if (isTaken(x - margin + dx, y - margin + dy)) return false;
      return true;
    };
    let outside = reached(wide, wide, clear);
    // All of a block of 64 x 64 cells without a point is outside, for every one here lies beside the data.
    const blockOf = (k: number) =>
      `${((k % wide) - margin + west) >> 6} ${(Math.floor(k / wide) - margin + south) >> 6}`;
    const blocks = new Set(
      taken.flatMap((yes, k) => (yes ? [blockOf((Math.floor(k / size) + margin) * wide + (k % size) + margin)] : [])),
    );
    outside = outside.map((is, k) => (is || !blocks.has(blockOf(k)) ? 1 : 0));
    const touches = (from: Uint8Array, x: number, y: number) => {
      for (let dy = -1; dy <= 1; dy++)
        for (let dx = -1; dx <= 1; dx++) if (from[(y + dy) * wide + x + dx] === 1) return true;
      return false;
    };
    for (let step = 0; step < radius; step++) {
      const before = outside;
      outside = before.map((is, k) => {
        const [x, y] = [k % wide, Math.floor(k / wide)];
        const inner = x > 0 && y > 0 && x < wide - 1 && y < wide - 1;
        return is || (inner && !isTaken(x - margin, y - margin) && touches(before, x, y)) ? 1 : 0;
      });
    }
    const expected: string[] = [];
    let source = 0;
    for (let y = 0; y < size; y++) {
      for (let x = 0; x < size; x++) {
        const at = `${x + west} ${y + south}`;
        if (isTaken(x, y)) expected.push(`${at} ${source++} ${touches(outside, x + margin, y + margin) ? 1 : 0}`);
        else if (!outside[(y + margin) * wide + x + margin]) expected.push(`${at} -1 0`);
      }
    }
    const places = taken.flatMap((yes, k) => (yes ? [[(k % size) + west, Math.floor(k / size) + south]] : []));
    const found = outlineCells(
      Int32Array.from(places, ([x]) => x),
      Int32Array.from(places, ([, y]) => y),
      neck,
    );
    const lines = [...found.column.keys()].map(
      (i) => `${found.column[i]} ${found.row[i]} ${found.source[i]} ${found.rim[i]}`,
    );
    expect(lines).toEqual(expected);
    holes += expected.filter((line) => line.includes(' -1 ')).length;
    rims += found.rim.filter((rim) => rim === 1).length;
  }
  expect(holes).toBeGreaterThan(500);
  expect(rims).toBeGreaterThan(500);
});
