/**
 * Points as the test clouds hold them: real coordinates in the unit of the file, every other attribute as LAS stores it.
 * A column that is missing is written as zero (return 1 of 1 for the returns).
 */
export interface PointColumns {
  count: number;
  x: Float64Array;
  y: Float64Array;
  z: Float64Array;
  intensity?: Uint16Array;
  returnNumber?: Uint8Array;
  returnCount?: Uint8Array;
  /** Bits: 1 synthetic, 2 key point, 4 withheld, 8 overlap (formats 6+), 16 scan direction, 32 edge of flight line. */
  flags?: Uint8Array;
  classification?: Uint8Array;
  scannerChannel?: Uint8Array;
  /** Steps of 0.006 degree, as formats 6 to 10 store it; formats 0 to 5 get it rounded to whole degrees. */
  scanAngle?: Int16Array;
  userData?: Uint8Array;
  pointSourceId?: Uint16Array;
  /** Seconds, as stored. */
  gpsTime?: Float64Array;
  red?: Uint16Array;
  green?: Uint16Array;
  blue?: Uint16Array;
  nir?: Uint16Array;
  /** 29 bytes a point, as stored. */
  waveform?: Uint8Array;
  /** Extra bytes as stored, as many a point as the options of the file describe. */
  extra?: Uint8Array;
}

/** The columns a scene fills. */
export type SceneColumns = PointColumns &
  Required<
    Pick<
      PointColumns,
      | 'intensity'
      | 'returnNumber'
      | 'returnCount'
      | 'classification'
      | 'scannerChannel'
      | 'scanAngle'
      | 'pointSourceId'
      | 'gpsTime'
    >
  >;

/** Empty columns with room for `capacity` points. */
export function createSceneColumns(capacity: number): SceneColumns {
  return {
    count: 0,
    x: new Float64Array(capacity),
    y: new Float64Array(capacity),
    z: new Float64Array(capacity),
    intensity: new Uint16Array(capacity),
    returnNumber: new Uint8Array(capacity),
    returnCount: new Uint8Array(capacity),
    classification: new Uint8Array(capacity),
    scannerChannel: new Uint8Array(capacity),
    scanAngle: new Int16Array(capacity),
    pointSourceId: new Uint16Array(capacity),
    gpsTime: new Float64Array(capacity),
  };
}

/** A copy of the points for which `keep` says yes, in their order. */
export function selectPoints(points: SceneColumns, keep: (index: number) => boolean): SceneColumns {
  let kept = 0;
  const chosen = new Uint32Array(points.count);
  for (let i = 0; i < points.count; i++) if (keep(i)) chosen[kept++] = i;
  const out = createSceneColumns(kept);
  out.count = kept;
  for (let k = 0; k < kept; k++) copyPoint(points, chosen[k], out, k);
  return out;
}

/** All points of several sets one after the other. */
export function joinPoints(sets: readonly SceneColumns[]): SceneColumns {
  const out = createSceneColumns(sets.reduce((sum, set) => sum + set.count, 0));
  for (const set of sets) appendPoints(out, set);
  return out;
}

/** Adds all points of `source` to `target`, which must have room for them. */
export function appendPoints(target: SceneColumns, source: SceneColumns): void {
  const at = target.count;
  const n = source.count;
  target.x.set(source.x.subarray(0, n), at);
  target.y.set(source.y.subarray(0, n), at);
  target.z.set(source.z.subarray(0, n), at);
  target.intensity.set(source.intensity.subarray(0, n), at);
  target.returnNumber.set(source.returnNumber.subarray(0, n), at);
  target.returnCount.set(source.returnCount.subarray(0, n), at);
  target.classification.set(source.classification.subarray(0, n), at);
  target.scannerChannel.set(source.scannerChannel.subarray(0, n), at);
  target.scanAngle.set(source.scanAngle.subarray(0, n), at);
  target.pointSourceId.set(source.pointSourceId.subarray(0, n), at);
  target.gpsTime.set(source.gpsTime.subarray(0, n), at);
  target.count += n;
}

/** Copies point `from` of one set to place `to` of another; `count` is left to the caller. */
function copyPoint(source: SceneColumns, from: number, target: SceneColumns, to: number): void {
  target.x[to] = source.x[from];
  target.y[to] = source.y[from];
  target.z[to] = source.z[from];
  target.intensity[to] = source.intensity[from];
  target.returnNumber[to] = source.returnNumber[from];
  target.returnCount[to] = source.returnCount[from];
  target.classification[to] = source.classification[from];
  target.scannerChannel[to] = source.scannerChannel[from];
  target.scanAngle[to] = source.scanAngle[from];
  target.pointSourceId[to] = source.pointSourceId[from];
  target.gpsTime[to] = source.gpsTime[from];
}
