import type { PassPair } from '../../measure/pass-pairs.js';

/** Share of the ground seen by both passes on which they were compared, 0 to 1; null where they have seen no ground in common. */
export function comparedShareOf({ overlapArea, comparedArea }: PassPair): number | null {
  return overlapArea > 0 ? comparedArea / overlapArea : null;
}
