import type { AreaDerivation, FactAsk } from './measurement.js';
import { joinPairPlanes, type PairPlanes } from './pair-planes.js';
import { collectArea, type GrossPair, type PassPairsPart, pairKey, planesByPair } from './pass-overlap.js';
import type { PlaneArea } from './plane-area.js';

export interface MovedPlanesParams {
  voxel: number;
  minPoints: number;
  moved: { passes: readonly [number, number]; by: readonly [number, number, number] };
}

/** The planes of two passes of which the second was moved: what `pass-pairs` asks for where they stand far apart. */
export const movedPlanes: AreaDerivation<
  MovedPlanesParams,
  PlaneArea,
  PassPairsPart,
  Map<string, PairPlanes[]>,
  PairPlanes | null
> = {
  id: 'moved-planes',
  from: ({ voxel, moved }) => ({ measurement: 'plane-moments', params: { voxel, moved } }),
  local: (params) => params,
  collect: collectArea,
  gather: planesByPair,
  again: () => [],
  combine: (planes, { moved: { passes } }) => joinPairPlanes(planes.get(pairKey(...passes)) ?? []),
};

/** Asks for the planes of a pair once more, the second pass moved; null where the two stand together. */
export function askMoved(
  { a, b, by }: GrossPair,
  { voxel, minPoints }: { voxel: number; minPoints: number },
): FactAsk | null {
  if (by.every((steps) => steps === 0)) return null;
  const params: MovedPlanesParams = { voxel, minPoints, moved: { passes: [a, b], by } };
  return { measurement: movedPlanes.id, params };
}
