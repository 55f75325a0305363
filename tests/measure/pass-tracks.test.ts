import { describe, expect, it } from 'vitest';
import { ALL_COLUMNS } from '../../src/cloud/columns.js';
import { type PassTrack, passTracks } from '../../src/measure/pass-tracks.js';
import { batchOf, measureFiles, measureMerged, ORIGIN, type TestPoint } from './point-batches.js';

const params = { cell: 1 };
const places = (tracks: Map<number, PassTrack>) =>
  [...tracks].map(([pass, { x, y }]) => [pass, ...[...x].map((v, i) => [v - ORIGIN[0], y[i] - ORIGIN[1]])]);

describe('pass tracks', () => {
  // Columns hold 0.006 degree a step (LAS 1.4 R15, 2.6); 2 degrees are 333.3 steps, so 333 is the last below.
  const points: TestPoint[] = [
    { x: 2.2, y: 0.1, source: 2, angle: 333 },
    { x: 0.2, y: 0.1, source: 1, angle: -333 },
    { x: 0.8, y: 0.9, source: 1, angle: 0 },
    { x: 1.0, y: 0.9, source: 1, angle: 0 },
    { x: 5.5, y: 5.5, source: 1, angle: 334 },
    { x: 6.5, y: 5.5, source: 1, angle: -334 },
    { x: 7.5, y: 5.5, source: 1, angle: 0, flags: 4 },
    { x: -0.1, y: -0.1, source: 1, angle: 0 },
  ];
  const expected = [
    [1, [-0.5, -0.5], [0.5, 0.5], [1.5, 0.5]],
    [2, [2.5, 0.5]],
  ];

  it('gives the middles of the cells that a pass saw straight below, each once', () => {
    expect(places(measureFiles(passTracks, params, [points], 3) as Map<number, PassTrack>)).toEqual(expected);
    expect(places(measureMerged(passTracks, params, [points]) as Map<number, PassTrack>)).toEqual(expected);
  });

  it('has no track without points or without scan angles', () => {
    expect(measureFiles(passTracks, params, [])).toEqual(new Map());
    const state = passTracks.create(params);
    passTracks.add(state, batchOf([{ x: 0, y: 0 }], { columns: ALL_COLUMNS.filter((c) => c !== 'scanAngle') }));
    expect(passTracks.finish(state, params)).toEqual(new Map());
  });

  it('refuses a state of another cell', () => {
    const packed = passTracks.pack(passTracks.create({ cell: 2 }));
    expect(() => passTracks.merge(passTracks.create(params), packed)).toThrow(RangeError);
  });
});
