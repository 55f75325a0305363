import type { Column } from '../cloud/columns.js';
import type { Measurement } from './contract/measurement.js';
import {
  type LocationNeighbourhood,
  type LocationNeighbourhoods,
  readLocations,
} from './survey/location-neighbourhoods.js';
import {
  addToLocations,
  createLocationSamples,
  type LocationSamples,
  locationPacking,
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
  LocationNeighbourhoods<TargetNeighbourhood>
> = {
  ...locationPacking({ id: 'target-neighbourhoods', version: 3 }),
  parameters: { targets: 'required', most: 'required' },
  columns: (): readonly Column[] => ['classification', 'intensity'],
  create: ({ targets, most }) => createLocationSamples(targets, (i) => targets[i].radius, null, most, 4),
  add: (state, batch) => addToLocations(state, batch, batch.points.intensity),
  finish: (state, { targets }) =>
    readLocations(state, targets, ({ rows, kept }, step) => ({
      intensity: Float64Array.from({ length: kept }, (_, k) => rows[k * step + 4]),
    })),
};
