import { classCounts } from './class-counts.js';
import { densityGrid } from './density-grid.js';
import { classReturns } from './class-returns.js';
import { headerRecount } from './header-recount.js';
import type { AnyDerivation, AnyMeasurement } from './measurement.js';
import { passPairs } from './pass-pairs.js';
import { passCells } from './pass-cells.js';
import { planeMoments } from './plane-moments.js';
import { surveyHeights } from './survey-heights.js';
import { surveyNeighbourhoods } from './survey-neighbourhoods.js';
import { tally } from './tally.js';
import { timeSegments } from './time-segments.js';

/** Every measurement there is: one line each. */
export const measurements: readonly AnyMeasurement[] = [
  classCounts,
  densityGrid,
  headerRecount,
  planeMoments,
  surveyNeighbourhoods,
  classReturns,
  tally,
  timeSegments,
  passCells,
];

/** Facts worked out from a measurement's result. */
export const derivations: readonly AnyDerivation[] = [passPairs, surveyHeights];

/** @throws RangeError for an id that is not registered: a mistake of ours, never of the user's. */
export function measurementById(id: string): AnyMeasurement {
  const found = measurements.find((m) => m.id === id);
  if (!found) throw new RangeError(`no measurement is called ${id}`);
  return found;
}
