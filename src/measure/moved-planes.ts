import { type BlockDerivation, type RequestFor, requestFrom } from './contract/measurement.js';
import { planeMoments } from './plane-moments.js';
import type { SharedSquares } from './planes/compared-area.js';
import { joinPairPlanes, type PairPlanes } from './planes/pair-planes.js';
import {
  collectPassPairs,
  type GrossPair,
  type PassOverlap,
  type PassPairsPart,
  pairKey,
  planesByPair,
  squaresByPair,
} from './planes/pass-overlap.js';
import type { PlaneBlock } from './planes/plane-block.js';

export interface MovedPlanesParams {
  voxel: number;
  minPoints: number;
  /** Coarsest step of the stored coordinates, metres; none: 0. */
  coordinateStep?: number;
  moved: { passes: readonly [number, number]; by: readonly [number, number, number] };
}

/** Planes and squares of the two passes, the second moved; planes are null where they share none. */
export interface MovedPlanes {
  planes: PairPlanes | null;
  squares: SharedSquares[];
}

type MovedOverlap = Pick<PassOverlap, 'planes' | 'squares'>;

/** The planes of two passes of which the second was moved: what `pass-pairs` asks for where they are far apart. */
export const movedPlanes: BlockDerivation<
  'moved-planes',
  typeof planeMoments,
  MovedPlanesParams,
  PlaneBlock,
  PassPairsPart,
  MovedOverlap,
  MovedPlanes
> = {
  id: 'moved-planes',
  parameters: { voxel: 'required', minPoints: 'required', coordinateStep: 'optional', moved: 'required' },
  from: ({ voxel, moved }) => requestFrom(planeMoments, { voxel, moved }),
  local: (params) => params,
  collect: collectPassPairs,
  gather: (parts) => ({ planes: planesByPair(parts), squares: squaresByPair(parts) }),
  secondReading: () => [],
  combine({ planes, squares }, { moved: { passes } }) {
    const key = pairKey(...passes);
    return { planes: joinPairPlanes(planes.get(key) ?? []), squares: squares.get(key) ?? [] };
  },
};

/** Asks for the planes of a pair once more, the second pass moved; null where the two are together. */
export function askMoved(
  { a, b, by }: GrossPair,
  { voxel, minPoints, coordinateStep }: Omit<MovedPlanesParams, 'moved'>,
): RequestFor<typeof movedPlanes> | null {
  if (by.every((steps) => steps === 0)) return null;
  const moved = { passes: [a, b], by } as const;
  return requestFrom(movedPlanes, { voxel, minPoints, ...(coordinateStep ? { coordinateStep } : {}), moved });
}
