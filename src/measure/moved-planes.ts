import { type BlockDerivation, type RequestFor, requestFrom } from './contract/measurement.js';
import { planeMoments } from './plane-moments.js';
import { joinPairPlanes, type PairPlanes } from './planes/pair-planes.js';
import { collectPassPairs, type GrossPair, type PassPairsPart, pairKey, planesByPair } from './planes/pass-overlap.js';
import type { PlaneBlock } from './planes/plane-block.js';

export interface MovedPlanesParams {
  voxel: number;
  minPoints: number;
  /** Coarsest step of the stored coordinates, metres; none: 0. */
  coordinateStep?: number;
  moved: { passes: readonly [number, number]; by: readonly [number, number, number] };
}

/** The planes of two passes of which the second was moved: what `pass-pairs` asks for where they stand far apart. */
export const movedPlanes: BlockDerivation<
  'moved-planes',
  typeof planeMoments,
  MovedPlanesParams,
  PlaneBlock,
  PassPairsPart,
  Map<string, PairPlanes[]>,
  PairPlanes | null
> = {
  id: 'moved-planes',
  parameters: { voxel: 'required', minPoints: 'required', coordinateStep: 'optional', moved: 'required' },
  from: ({ voxel, moved }) => requestFrom(planeMoments, { voxel, moved }),
  local: (params) => params,
  collect: collectPassPairs,
  gather: planesByPair,
  secondReading: () => [],
  combine: (planes, { moved: { passes } }) => joinPairPlanes(planes.get(pairKey(...passes)) ?? []),
};

/** Asks for the planes of a pair once more, the second pass moved; null where the two stand together. */
export function askMoved(
  { a, b, by }: GrossPair,
  { voxel, minPoints, coordinateStep }: Omit<MovedPlanesParams, 'moved'>,
): RequestFor<typeof movedPlanes> | null {
  if (by.every((steps) => steps === 0)) return null;
  const moved = { passes: [a, b], by } as const;
  return requestFrom(movedPlanes, { voxel, minPoints, ...(coordinateStep ? { coordinateStep } : {}), moved });
}
