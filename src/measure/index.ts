import { attributeCodes } from './attribute-codes.js';
import { cellDensity } from './cell-density.js';
import { cellHeights } from './cell-heights.js';
import { classCounts } from './class-counts.js';
import { classReturns } from './class-returns.js';
import type { AnyBlockDerivation, AnyDerivation, AnyMeasurement } from './contract/measurement.js';
import { densityGrid } from './density-grid.js';
import { duplicates } from './duplicates.js';
import { edgeSteps } from './edge-steps.js';
import { groundCells } from './ground-cells.js';
import { headerRecount } from './header-recount.js';
import { movedPlanes } from './moved-planes.js';
import { outsideBoxes } from './outside-boxes.js';
import { passCells } from './pass-cells.js';
import { passPairs } from './pass-pairs.js';
import { passSurfaces } from './pass-surfaces.js';
import { passTimes } from './pass-times.js';
import { passTracks } from './pass-tracks.js';
import { planeMoments } from './plane-moments.js';
import { pointCounts } from './point-counts.js';
import { pointSeconds } from './point-seconds.js';
import { pulseTimes } from './pulse-times.js';
import { rangeCells } from './range-cells.js';
import { structureFacts } from './structure-facts.js';
import { surveyHeights } from './survey-heights.js';
import { surveyNeighbourhoods } from './survey-neighbourhoods.js';
import { surveySamples } from './survey-samples.js';
import { swathPrecision } from './swath-precision.js';
import { swathSeparation } from './swath-separation.js';
import { targetFits } from './target-fits.js';
import { targetNeighbourhoods } from './target-neighbourhoods.js';
import { tileEdges } from './tile-edges.js';
import { timeOrder } from './time-order.js';
import { timeSegments } from './time-segments.js';
import { voxelCounts } from './voxel-counts.js';

const registeredMeasurements = [
  attributeCodes,
  cellHeights,
  classCounts,
  classReturns,
  densityGrid,
  duplicates,
  groundCells,
  headerRecount,
  outsideBoxes,
  passCells,
  passTimes,
  passTracks,
  planeMoments,
  pulseTimes,
  rangeCells,
  structureFacts,
  surveyNeighbourhoods,
  pointCounts,
  pointSeconds,
  targetNeighbourhoods,
  tileEdges,
  timeOrder,
  timeSegments,
  voxelCounts,
] as const satisfies readonly AnyMeasurement[];

const registeredDerivations = [
  cellDensity,
  edgeSteps,
  surveyHeights,
  surveySamples,
  swathPrecision,
  swathSeparation,
  targetFits,
] as const satisfies readonly AnyDerivation[];

const registeredBlockDerivations = [
  movedPlanes,
  passPairs,
  passSurfaces,
] as const satisfies readonly AnyBlockDerivation[];

/** The type of everything that is registered here: src/measure/fact-types.ts reads ids, parameters and results from it. */
export type RegisteredFact =
  | (typeof registeredMeasurements)[number]
  | (typeof registeredDerivations)[number]
  | (typeof registeredBlockDerivations)[number];

/** All measurements. */
export const measurements: readonly AnyMeasurement[] = registeredMeasurements;

/** Facts that are computed from the result of another fact. */
export const derivations: readonly AnyDerivation[] = registeredDerivations;

/** Facts that are gathered from the processing blocks of a measurement. */
export const blockDerivations: readonly AnyBlockDerivation[] = registeredBlockDerivations;

/** The measurement with this id. @throws RangeError for an id that is not registered: an internal error, never a fault */
export function measurementById(id: string): AnyMeasurement {
  const found = measurements.find((m) => m.id === id);
  if (!found) throw new RangeError(`no measurement is called ${id}`);
  return found;
}

/** The block derivation with this id. @throws RangeError for an id that is not registered: an internal error, never a fault */
export function blockDerivationById(id: string): AnyBlockDerivation {
  const found = blockDerivations.find((d) => d.id === id);
  if (!found) throw new RangeError(`no block derivation is called ${id}`);
  return found;
}
