/** What can be wrong with one pass. Times are seconds since the start of the pass. */
export interface PassFaults {
  /** The whole pass displaced in the world: east, north, up, metres. */
  shift?: readonly [number, number, number];
  /** Height drifting away between two times at a steady rate; the last value stays afterwards. */
  drift?: { from: number; to: number; metresPerSecond: number };
  /** Error of the scanner's mounting: the beam turned about the direction of the street, radians, left side up. */
  rollRadians?: number;
  /** The clock jumps by `gapSeconds` and the height by `dz` from a time on, as after lost satellites. */
  step?: { at: number; gapSeconds: number; dz: number };
}
