import type { Column } from '../cloud/columns.js';
import type { Measurement } from './contract/measurement.js';
import {
  addToLocations,
  createLocationSamples,
  type LocationNeighbourhood,
  type LocationSamples,
  locationPacking,
  readLocations,
} from './survey/location-samples.js';

/** Survey targets, and which points around them are kept. */
export interface TargetNeighbourhoodsParams {
  /** World metres of each survey target, and the horizontal radius within which points are kept, metres. */
  targets: { x: number; y: number; z: number; radius: number }[];
  /** Most points kept for one target and pass; the rest is only counted. */
  most: number;
}

/** The cloud around one survey target in one pass, with its intensities as stored. */
export interface TargetNeighbourhood extends LocationNeighbourhood {
  intensity: Float64Array;
}

/** The cloud around each survey target with its intensity, pass by pass, as a bounded sample. Noise is left out. */
export const targetNeighbourhoods: Measurement<
  'target-neighbourhoods',
  TargetNeighbourhoodsParams,
  LocationSamples,
  TargetNeighbourhood[]
> = {
  ...locationPacking({ id: 'target-neighbourhoods', version: 2 }),
  parameters: { targets: 'required', most: 'required' },
  columns: (): readonly Column[] => ['classification', 'intensity'],
  create: ({ targets, most }) => createLocationSamples(targets, (i) => targets[i].radius, null, most, 4),
  add: (state, batch) => addToLocations(state, batch, batch.points.intensity),
  finish: (state, { targets }) =>
    readLocations(state, targets, (sample) => ({
      intensity: Float64Array.from(sample.values[3].subarray(0, sample.kept)),
    })),
};
