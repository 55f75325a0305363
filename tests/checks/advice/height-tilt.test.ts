import { describe, expect, it } from 'vitest';
import { heightTilt } from '../../../src/checks/advice/height-tilt.js';
import { heightFacts, scattered } from './facts.js';

/** Check points on a grid of 100 m, with a tilt east and north (metres a metre) and a scatter to either side. */
function tilted(east: number, north: number, scatter = 0.002, columns = 6, rows = 2) {
  const { limit, points } = heightFacts(scattered(columns * rows, 0, scatter));
  return {
    limit,
    points: points.map((p, i) => {
      const [u, v] = [100 * (i % columns), 100 * Math.floor(i / columns)];
      return { ...p, x: 561_000 + u, y: 5_932_000 + v, dz: p.dz + east * u + north * v };
    }),
  };
}

describe('height-tilt', () => {
  it('tells where differences rise, and by how much', () => {
    // 0.1 mm in a metre over 500 m
    const advice = heightTilt.advise(tilted(0.0001, 0))!;
    expect(advice.text).toContain('rise towards the east by ');
    expect(advice.text).toContain('over 500 m');
    expect(Math.abs(advice.figures.rise.value! - 0.05)).toBeLessThan(0.003);
    expect(heightTilt.advise(tilted(-0.0001, 0))!.text).toContain('towards the west');
    expect(heightTilt.advise(tilted(0, 0.0004))!.text).toContain('towards the north');
    expect(heightTilt.advise(tilted(0, -0.0004))!.text).toContain('towards the south');
  });

  it('is quiet for a level offset, for scatter, and for less than half of the limit', () => {
    expect(heightTilt.advise(heightFacts(scattered(12, 0.05, 0.002)))).toBeNull();
    expect(heightTilt.advise(tilted(0.0001, 0, 0.06))).toBeNull();
    // 9 mm over 500 m, limit 20 mm
    expect(heightTilt.advise(tilted(0.000018, 0, 0.0005))).toBeNull();
  });

  it('is quiet at five points, and where feet explain it', () => {
    expect(heightTilt.advise(tilted(0.0001, 0, 0.002, 5, 1))).toBeNull();
    const rising = tilted(0, 0);
    const points = rising.points.map((p, i) => ({ ...p, z: 4 + i, dz: (4 + i) * (1 / 0.3048 - 1) }));
    expect(heightTilt.advise({ ...rising, points })).toBeNull();
  });

  it('leaves out blunders, and does not mind points at one place or in one line', () => {
    const facts = tilted(0.0001, 0);
    const points = facts.points.map((p, i) => (i === 3 ? { ...p, dz: 3, blunder: true } : p));
    expect(heightTilt.advise({ ...facts, points })).not.toBeNull();
    expect(heightTilt.advise(tilted(0.0001, 0, 0.002, 12, 1))).not.toBeNull();
    expect(heightTilt.advise(heightFacts(scattered(12, 0.05, 0.02), { x: 5, y: 5 }))).toBeNull();
  });
});
