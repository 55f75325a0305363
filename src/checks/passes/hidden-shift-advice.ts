import type { PassPair } from '../../measure/pass-pairs.js';
import { length } from '../contract/wording.js';

/** Voxels with an upright surface that say what is wrong with the walls: fewer may be poles. */
const LEAST_VOXELS = 20;
/** A larger voxel is chosen so that its mean number of points is this many times the least. */
const SPARE = 1.5;

/**
 * What would show a horizontal shift that the surfaces of a pair leave hidden: walls, larger voxels where walls are too sparse, or sound walls
 * where they are too rough; null where both horizontal axes are seen.
 */
export function hiddenShiftAdvice(pair: PassPair, minPoints: number, voxel: number): string | null {
  const { observable, upright } = pair;
  if (observable[0] && observable[1]) return null;
  if (upright && upright.sparse >= LEAST_VOXELS && upright.sparse > upright.rough) {
    const mean = upright.sparsePoints / upright.sparse;
    const size = Math.ceil(10 * voxel * Math.sqrt((SPARE * minPoints) / mean)) / 10;
    return `Walls are there, but too sparse for this voxel size: ${upright.sparse} voxels of ${voxel} m show the same wall in both passes, with ${mean.toFixed(0)} points of the sparser pass on average (${minPoints} needed). A voxel of ${size} m would hold enough points.`;
  }
  // Edges of sound walls are rough too: rough voxels must outnumber the planes.
  if (upright && upright.rough >= LEAST_VOXELS && upright.rough > upright.planes) {
    return `Walls are there, but too rough to be planes: in ${upright.rough} voxels of ${voxel} m the points of a pass scatter by more than ${length(ROUGH * voxel)} about the wall. A wall that one pass shows twice points to an error of heading or mounting.`;
  }
  return 'Level ground alone shows heights only: walls or kerbs in two directions are needed to show a horizontal shift.';
}

/** Root mean square thickness of a plane, share of the voxel edge, above which points form no plane. */
const ROUGH = 0.04;
