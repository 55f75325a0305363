/** Options of `pass-drift`. Metres, seconds; slopes in millimetres a minute. */
export interface PassDriftOptions {
  maxOffset?: number;
  maxSlope?: number;
  maxStep?: number;
  maxHorizontalOffset?: number;
  bin: number;
  window: number;
  minSeconds: number;
  minCells: number;
  minBins: number;
  voxel: number;
  minPoints: number;
}
