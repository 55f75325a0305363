import { RECORD, type Records } from '../kernel/voxel-area.js';
import { KeyTable } from './key-table.js';
import type { PlaneArea } from './plane-area.js';

/** Two planes are the same surface if their normals agree within 5 degrees. */
const COS_SAME = Math.cos((5 * Math.PI) / 180);
/** Root mean square thickness of a plane, share of the voxel edge, above which the points are no plane. */
const THICK = 0.04;
/** Least spread of the points along the plane's second axis, share of the voxel edge. */
const SPREAD = 0.12;

/**
 * Planes of two passes in the same voxels: plain data, 34 bytes a plane, for a street has hundreds of them in every metre.
 * Lengths in quanta of the state.
 */
export interface PairPlanes {
  a: number;
  b: number;
  /** Voxels in which both passes have points, enough points for a plane each, and planes that agree. */
  shared: number;
  dense: number;
  count: number;
  /** Lower corner of the voxel, in sub-voxels: three a plane. */
  corner: Int32Array;
  /** Where the plane is known best, from the corner: three a plane. */
  offset: Uint16Array;
  /** Mean unit normal: three a plane. Single precision tells directions to a hundred-thousandth of a degree. */
  normal: Float32Array;
  /** Distance of b from a along the normal. Single precision: a distance of 0.25 m to a hundredth of a micrometre. */
  distance: Float32Array;
}

/** A surface counts as level, fit to compare heights on, up to this slope (10 degrees, as the USGS base specification samples). */
export const COS_LEVEL = Math.cos((10 * Math.PI) / 180);

/** Collects, over both lattices, every voxel of an area in which two of the passes show the same plane. Fixed order. */
export function collectPairPlanes({ voxels, side }: PlaneArea, minPoints: number): PairPlanes[] {
  const edge = 2 * side;
  const limits = { points: Math.max(3, minPoints), rms: THICK * edge, spread: (SPREAD * edge) ** 2, cosine: COS_SAME };
  const found: FoundPairs = { places: new KeyTable(), pairs: [] };
  voxels.pairs(limits, (records, count) => addRecords(found, records, count));
  return found.pairs.sort((p, q) => p.a - q.a || p.b - q.b).map((one) => resized(one, one.count));
}

/** Planes by pair. Keys: a, b, 0, 0. */
interface FoundPairs {
  places: KeyTable;
  pairs: PairPlanes[];
}

/** A function of its own, and no closure: the engine would compile that anew for every area. */
function addRecords({ places, pairs }: FoundPairs, records: Records, count: number): void {
  const { words } = records;
  for (let i = 0, w = 0; i < count; i++, w += RECORD.words) {
    const at = places.add(words[w], words[w + 1], 0, 0);
    if (at === pairs.length) pairs.push(createPlanes({ a: words[w], b: words[w + 1] }, 64));
    const pair = pairs[at];
    pair.shared++;
    if (words[w + 2] === 0) continue;
    pair.dense++;
    if (words[w + 2] === 2) addPlane(pair, records, i);
  }
}

function addPlane(pair: PairPlanes, { words, shorts, singles }: Records, i: number): void {
  if (pair.count === pair.distance.length) Object.assign(pair, resized(pair, pair.count * 2));
  const at = pair.count * 3;
  for (let axis = 0; axis < 3; axis++) {
    pair.corner[at + axis] = words[i * RECORD.words + 3 + axis];
    pair.offset[at + axis] = shorts[i * RECORD.shorts + 12 + axis];
    pair.normal[at + axis] = singles[i * RECORD.singles + 8 + axis];
  }
  pair.distance[pair.count++] = singles[i * RECORD.singles + 11];
}

/** The planes of one pair over all areas, put together; null when the two passes never meet. */
export function joinPairPlanes(parts: readonly PairPlanes[]): PairPlanes | null {
  if (parts.length === 0) return null;
  const total = (pick: (part: PairPlanes) => number) => parts.reduce((sum, part) => sum + pick(part), 0);
  const joined = createPlanes(
    parts[0],
    total((part) => part.count),
  );
  joined.shared = total((part) => part.shared);
  joined.dense = total((part) => part.dense);
  for (const part of parts) {
    joined.corner.set(part.corner, joined.count * 3);
    joined.offset.set(part.offset, joined.count * 3);
    joined.normal.set(part.normal, joined.count * 3);
    joined.distance.set(part.distance, joined.count);
    joined.count += part.count;
  }
  return joined;
}

function createPlanes({ a, b }: { a: number; b: number }, room: number): PairPlanes {
  return {
    a,
    b,
    shared: 0,
    dense: 0,
    count: 0,
    corner: new Int32Array(room * 3),
    offset: new Uint16Array(room * 3),
    normal: new Float32Array(room * 3),
    distance: new Float32Array(room),
  };
}

/** The same planes with no room to spare, or with more of it. */
function resized(pair: PairPlanes, room: number): PairPlanes {
  const out = createPlanes(pair, room);
  out.corner.set(pair.corner.subarray(0, pair.count * 3));
  out.offset.set(pair.offset.subarray(0, pair.count * 3));
  out.normal.set(pair.normal.subarray(0, pair.count * 3));
  out.distance.set(pair.distance.subarray(0, pair.count));
  return Object.assign(out, { shared: pair.shared, dense: pair.dense, count: pair.count });
}
