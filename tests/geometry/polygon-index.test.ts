import { describe, expect, it } from 'vitest';
import { type Polygon, pointInPolygons } from '../../src/geometry/polygon.js';
import { PolygonIndex } from '../../src/geometry/polygon-index.js';
import { seeded } from './seeded.js';

/** A road with `vertices` vertices along either side, 10 m wide and winding, vertices at whole decimetres. */
function road(vertices: number, step = 7): Polygon {
  const north = (i: number) => Math.round(300 * Math.sin((i * step) / 400)) / 10;
  const there = Array.from({ length: vertices }, (_, i) => [561_000 + i * step, 5_932_000 + north(i)]);
  const back = there.map(([x, y]) => [x, y + 10]).reverse();
  return { outer: Float64Array.from([...there, ...back].flat()), holes: [] };
}

describe('polygons prepared for many locations', () => {
  it('give the answer of the definition, on vertices and edges too', () => {
    const random = seeded(5).uniform;
    const ring = (cx: number, cy: number, radius: number, n: number) =>
      Float64Array.from(
        Array.from({ length: n }, (_, i) => {
          const r = radius * (0.5 + random());
          return [
            Math.round(cx + r * Math.cos((i * 2 * Math.PI) / n)),
            Math.round(cy + r * Math.sin((i * 2 * Math.PI) / n)),
          ];
        }).flat(),
      );
    const closed = (xy: Float64Array) => Float64Array.from([...xy, ...xy.slice(0, 2)]);
    let inside = 0;
    for (let round = 0; round < 40; round++) {
      const n = [3, 4, 8, 9, 17, 100][round % 6];
      const polygons: Polygon[] = [
        { outer: ring(0, 0, 20, n), holes: [ring(0, 0, 6, 5), closed(ring(9, 3, 4, 12))] },
        { outer: closed(ring(30, 5, 15, n)), holes: [] },
        { outer: Float64Array.of(-50, -50, -40, -50, -40, -40, -50, -40), holes: [] },
      ];
      const index = new PolygonIndex(polygons);
      const places = Array.from({ length: 600 }, () => [
        Math.round(random() * 240 - 120) / 2,
        Math.round(random() * 120 - 60) / 2,
      ]);
      for (const { outer } of polygons) for (let i = 0; i < outer.length; i += 2) places.push([outer[i], outer[i + 1]]);
      for (const [x, y] of places) {
        const expected = pointInPolygons(x, y, polygons);
        if (expected) inside++;
        if (index.holds(x, y) !== expected) expect.fail(`round ${round}, ${x}, ${y}`);
      }
    }
    expect(inside).toBeGreaterThan(1000);
  });

  it('give the answer of the definition at large coordinates, next to slanted edges', () => {
    const zone = road(200);
    const index = new PolygonIndex([zone]);
    const { outer } = zone;
    for (let i = 0; i + 3 < outer.length; i += 2) {
      for (const share of [0, 0.25, 1 / 3, 0.5]) {
        const x = outer[i] + share * (outer[i + 2] - outer[i]);
        const y = outer[i + 1] + share * (outer[i + 3] - outer[i + 1]);
        for (const off of [-1e-9, 0, 1e-9])
          if (index.holds(x + off, y) !== pointInPolygons(x + off, y, [zone])) expect.fail(`${x + off}, ${y}`);
      }
    }
  });

  it('compare a location with hardly more when the outline has twice the vertices', () => {
    const work = (vertices: number) => {
      const index = new PolygonIndex([road(vertices)]);
      for (let i = 0; i < 2000; i++)
        index.holds(561_000 + ((i * 37) % (vertices * 7)), 5_932_000 + ((i * 13) % 60) - 25);
      return index.compared / 2000;
    };
    const [once, twice, fourTimes] = [1000, 2000, 4000].map(work);
    expect(once).toBeLessThan(60);
    expect(twice).toBeLessThan(1.3 * once);
    expect(fourTimes).toBeLessThan(1.3 * twice);
  });

  it('compare a location with hardly more when there are twice the polygons', () => {
    const work = (count: number) => {
      const plots = Array.from({ length: count }, (_, i): Polygon => {
        const [x, y] = [(i % 20) * 30, Math.floor(i / 20) * 30];
        return { outer: Float64Array.of(x, y, x + 25, y, x + 25, y + 25, x, y + 25), holes: [] };
      });
      const index = new PolygonIndex(plots);
      for (let i = 0; i < 1000; i++) index.holds((i * 17) % 600, (i * 31) % ((count / 20) * 30));
      return index.compared / 1000;
    };
    expect(work(800)).toBeLessThan(1.25 * work(400));
    expect(work(1600)).toBeLessThan(1.25 * work(800));
  });
});
