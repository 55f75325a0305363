import { areHeads } from '../../delivery/passes.js';
import { VehiclePoses } from '../../delivery/vehicle-poses.js';
import type { PassPair } from '../../measure/pass-pairs.js';
import type { PassTimes } from '../../measure/pass-times.js';
import { mountingOffset } from '../../measure/passes/offsets-in-vehicle.js';
import type { VehicleOffset } from '../../measure/passes/vehicle-axes.js';
import type { JudgeContext } from '../contract/check.js';

/** A pair of passes, and how the second head is mounted against the first; null for other pairs, and without trajectory or times. */
export interface Mounting {
  a: number;
  b: number;
  mounting: VehicleOffset | null;
}

/** The mounting of scanner heads against each other, pair by pair. */
export function mountingsOf(
  pairs: readonly PassPair[],
  times: PassTimes | undefined,
  { delivery }: JudgeContext,
): Mounting[] {
  const { trajectory, passRule } = delivery;
  const poses = trajectory === null || times === undefined ? null : new VehiclePoses(trajectory);
  return pairs.map((pair) => {
    const heads = poses !== null && areHeads(passRule, pair.a, pair.b);
    return { a: pair.a, b: pair.b, mounting: heads ? mountingOffset(pair, times!, poses) : null };
  });
}
