import { describe, expect, it } from 'vitest';
import { isolatedPoints } from '../../src/checks/isolated-points.js';
import { voxelCounts } from '../../src/measure/voxel-counts.js';
import { batchesOf, type LawPoint } from '../laws/batches.js';
import { judge, requirementOf, squareZone } from './judge.js';

/** Points in millimetres; the planted isolated ones are the outside truth. */
function point(x: number, y: number, z: number): LawPoint {
  const plain = { pass: 1, file: 0, withheld: false, returnNumber: 1, returnCount: 1, classification: 2, intensity: 0 };
  return { x, y, z, ...plain, gpsTime: 0, scanAngle: 0, userData: 0 } as LawPoint;
}

function count(points: LawPoint[], voxel = 1) {
  const state = voxelCounts.create({ voxel });
  for (const batch of batchesOf(points, 1000)) voxelCounts.add(state, batch);
  return voxelCounts.finish(state, { voxel });
}

/** A flat field of 10 x 10 m with a point every 10 cm. */
const field = Array.from({ length: 10_000 }, (_, i) =>
  point((i % 100) * 100 + 50, Math.floor(i / 100) * 100 + 50, 500),
);

describe('isolated-points', () => {
  it('finds no isolated point in a field', () => {
    const verdict = judge(isolatedPoints, { maxShare: 0 }, { voxels: count(field) });
    expect(verdict.state).toBe('pass');
    expect(verdict.measured.points.value).toBe(0);
  });

  it('counts exactly the points planted in the air and under the ground, and says where', () => {
    const strays = [
      point(5000, 5000, 9000),
      point(2000, 8000, -6000),
      point(7000, 2000, 14_000),
      point(7100, 2100, 14_000),
    ];
    const verdict = judge(isolatedPoints, { maxShare: 0 }, { voxels: count([...field, ...strays]) });
    expect(verdict.state).toBe('fail');
    expect(verdict.measured.points.value).toBe(4);
    expect(verdict.measured.share.value).toBeCloseTo(4 / 10_004, 12);
    const [places] = verdict.evidence.filter((e) => e.kind === 'locations');
    expect(places.items).toHaveLength(3);
  });

  it('a point across the border of a voxel from others is not alone', () => {
    const cluster = [0, 1, 2, 3].map((k) => point(5990 + k, 5500, 9500));
    const beside = point(6010, 5500, 9500);
    expect(
      judge(isolatedPoints, { maxShare: 0 }, { voxels: count([...field, ...cluster, beside]) }).measured.points.value,
    ).toBe(0);
  });

  it('in a zone only its voxels count', () => {
    const strays = [point(2500, 2500, 9000), point(7500, 7500, 9000)];
    const zones = [squareZone('west', 561_000, 5_932_000, 561_005, 5_932_010)];
    const verdict = judge(
      isolatedPoints,
      { maxShare: 0, zone: 'west' },
      { voxels: count([...field, ...strays]) },
      { zones },
    );
    expect(verdict.measured.points.value).toBe(1);
    expect(verdict.measured.share.value).toBeCloseTo(1 / 5001, 12);
  });

  it('noise that is classed as noise does not count, and keeps no other point company', () => {
    const noise = (x: number, kind: number) => ({ ...point(x, 5000, 9000), classification: kind });
    const strays = [noise(5000, 7), noise(5100, 18), noise(5200, 7), noise(5300, 1)];
    const params = { voxel: 1, without: [7, 18] };
    const state = voxelCounts.create(params);
    for (const batch of batchesOf([...field, ...strays], 1000)) voxelCounts.add(state, batch);
    const verdict = judge(isolatedPoints, { maxShare: 0 }, { voxels: voxelCounts.finish(state, params) });
    expect(verdict.measured.points.value).toBe(1);
    expect(verdict.measured.share.value).toBeCloseTo(1 / 10_001, 12);
    const requirement = requirementOf({ check: 'isolated-points', maxShare: 0 });
    expect(isolatedPoints.needs(requirement as never)).toEqual({ voxels: { measurement: 'voxel-counts', params } });
  });

  it('accepts the share that was agreed, and needs points', () => {
    const strays = [point(5000, 5000, 9000)];
    expect(judge(isolatedPoints, { maxShare: 0.001 }, { voxels: count([...field, ...strays]) }).state).toBe('pass');
    expect(judge(isolatedPoints, { maxShare: 0.001 }, { voxels: count([]) }).state).toBe('undetermined');
  });

  it('the voxels add up to the points, withheld ones left out', () => {
    const held = { ...point(1, 1, 1), withheld: true };
    const { points } = count([...field, held]);
    expect(points.reduce((sum, n) => sum + n, 0)).toBe(field.length);
  });
});
