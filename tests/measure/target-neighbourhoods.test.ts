import { describe, expect, it } from 'vitest';
import type { LocationNeighbourhoods } from '../../src/measure/survey/location-neighbourhoods.js';
import { type TargetNeighbourhood, targetNeighbourhoods } from '../../src/measure/target-neighbourhoods.js';
import { measureFiles, measureMerged, ORIGIN, type TestPoint } from './point-batches.js';

const target = (x: number, radius: number) => ({ x: ORIGIN[0] + x, y: ORIGIN[1], z: 0, radius });
const params = { targets: [target(0, 1), target(3, 2)], most: 50 };
const points: TestPoint[] = [
  { x: 0.5, y: 0, z: 0.1, intensity: 300, source: 1 },
  { x: 1.5, y: 0, z: 0, intensity: 65_535, source: 1 },
  { x: 3, y: 1, z: 0, intensity: 0, source: 2 },
  { x: 0, y: 0, z: 0, intensity: 9, class: 7, source: 1 },
  { x: 0, y: 0, z: 0, intensity: 9, flags: 4, source: 1 },
];

const allOf = (found: unknown) => (found as LocationNeighbourhoods<TargetNeighbourhood>).all();

describe('target neighbourhoods', () => {
  it('hold the points within the radius of each target with their intensities as stored, noise left out', () => {
    const found = allOf(measureFiles(targetNeighbourhoods, params, [points], 2));
    expect(found.map((n) => [n.point, n.pass, n.total, n.dx[0], n.dz[0], n.intensity[0]])).toEqual([
      [0, 1, 1, 0.5, 0.1, 300],
      [1, 1, 1, -1.5, 0, 65_535],
      [1, 2, 1, 0, 0, 0],
    ]);
    expect(allOf(measureMerged(targetNeighbourhoods, params, [points]))).toEqual(found);
  });

  it('are empty without points or targets, and ask for intensity', () => {
    expect(allOf(measureFiles(targetNeighbourhoods, params, []))).toEqual([]);
    expect(allOf(measureFiles(targetNeighbourhoods, { targets: [], most: 5 }, [points]))).toEqual([]);
    expect(targetNeighbourhoods.columns(params)).toContain('intensity');
  });
});
