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

/** Survey points, and which points around them are kept. */
export interface SurveyNeighbourhoodsParams {
  /** World metres of each surveyed point. */
  points: { x: number; y: number; z: number }[];
  /** Horizontal radius, metres, within which points are kept. */
  radius: number;
  /** Only points of these classes; null: every class but the noise classes 7 and 18. */
  classes: number[] | null;
  /** Most points kept for one survey point and pass; the rest is only counted. */
  most: number;
}

/** The cloud around one survey point in one pass. */
export type Neighbourhood = LocationNeighbourhood;

/** The cloud around each survey point, pass by pass, as a bounded sample. */
export const surveyNeighbourhoods: Measurement<
  'survey-neighbourhoods',
  SurveyNeighbourhoodsParams,
  LocationSamples,
  LocationNeighbourhoods
> = {
  ...locationPacking({ id: 'survey-neighbourhoods', version: 3 }),
  parameters: { points: 'required', radius: 'required', classes: 'required', most: 'required' },
  columns: (): readonly Column[] => ['classification'],
  create: ({ points, radius, classes, most }) => createLocationSamples(points, () => radius, classes, most, 3),
  add: (state, batch) => addToLocations(state, batch, null),
  finish: (state, { points }) => readLocations(state, points, () => ({})),
};
