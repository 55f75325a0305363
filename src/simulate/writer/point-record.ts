import type { PointColumns } from './point-columns.js';

/** Bytes of a point record of formats 0 to 10 without extra bytes (LAS 1.4 R15, section 2.6). */
export const RECORD_LENGTHS: readonly number[] = [20, 28, 26, 34, 57, 63, 30, 36, 38, 59, 67];

/** Byte of the GPS time, the colour, the infrared and the wave packet inside a record; -1 where the format has none. */
const GPS_AT: readonly number[] = [-1, 20, -1, 20, 20, 20, 22, 22, 22, 22, 22];
const COLOUR_AT: readonly number[] = [-1, -1, 20, 28, -1, 28, -1, 30, 30, -1, 30];
const NIR_AT: readonly number[] = [-1, -1, -1, -1, -1, -1, -1, -1, 36, -1, 36];
const WAVE_AT: readonly number[] = [-1, -1, -1, -1, 28, 34, -1, -1, -1, 30, 38];

/** Whether points of the format carry a GPS time. */
export function hasGpsTime(format: number): boolean {
  return GPS_AT[format] >= 0;
}

/** Whether points of the format carry wave packets. */
export function hasWaveform(format: number): boolean {
  return WAVE_AT[format] >= 0;
}

/** How points are laid down. */
export interface RecordLayout {
  format: number;
  recordLength: number;
  scale: readonly [number, number, number];
  offset: readonly [number, number, number];
}

/** What a header must say of the points written so far. */
export interface PointTally {
  count: number;
  /** Points by return number, 1 to 15 in places 0 to 14. */
  byReturn: Float64Array;
  /** Raw integer extremes: x, y, z. */
  min: Float64Array;
  max: Float64Array;
  gpsMin: number;
  gpsMax: number;
}

/** Counts and bounds of no points. */
export function createTally(): PointTally {
  return {
    count: 0,
    byReturn: new Float64Array(15),
    min: new Float64Array(3).fill(Infinity),
    max: new Float64Array(3).fill(-Infinity),
    gpsMin: Infinity,
    gpsMax: -Infinity,
  };
}

/**
 * Writes points `from` to `to` as records into `view` from its start on, and counts them.
 * @throws RangeError when a coordinate does not fit the scale and offset.
 */
export function encodeRecords(
  view: DataView,
  points: PointColumns,
  from: number,
  to: number,
  layout: RecordLayout,
  tally: PointTally,
): void {
  const { format, recordLength } = layout;
  const [scaleX, scaleY, scaleZ] = layout.scale;
  const [offsetX, offsetY, offsetZ] = layout.offset;
  const { x, y, z, intensity, returnNumber, returnCount, flags, classification, gpsTime, pointSourceId } = points;
  const { scannerChannel, scanAngle, userData } = points;
  const { min, max, byReturn } = tally;
  const modern = format >= 6;
  const gpsAt = GPS_AT[format];
  const colourAt = COLOUR_AT[format];
  const nirAt = NIR_AT[format];
  const waveAt = WAVE_AT[format];
  const extraAt = RECORD_LENGTHS[format];
  const extraLength = recordLength - extraAt;
  for (let i = from, at = 0; i < to; i++, at += recordLength) {
    const rawX = Math.round((x[i] - offsetX) / scaleX);
    const rawY = Math.round((y[i] - offsetY) / scaleY);
    const rawZ = Math.round((z[i] - offsetZ) / scaleZ);
    if (rawX !== (rawX | 0) || rawY !== (rawY | 0) || rawZ !== (rawZ | 0)) {
      throw new RangeError(`point ${i} at ${x[i]} ${y[i]} ${z[i]} does not fit the scale and offset`);
    }
    if (rawX < min[0]) min[0] = rawX;
    if (rawX > max[0]) max[0] = rawX;
    if (rawY < min[1]) min[1] = rawY;
    if (rawY > max[1]) max[1] = rawY;
    if (rawZ < min[2]) min[2] = rawZ;
    if (rawZ > max[2]) max[2] = rawZ;
    view.setInt32(at, rawX, true);
    view.setInt32(at + 4, rawY, true);
    view.setInt32(at + 8, rawZ, true);
    if (intensity) view.setUint16(at + 12, intensity[i], true);
    const number = returnNumber ? returnNumber[i] : 1;
    const count = returnCount ? returnCount[i] : 1;
    const bits = flags ? flags[i] : 0;
    const kind = classification ? classification[i] : 0;
    if (number >= 1 && number <= 15) byReturn[number - 1]++;
    if (modern) {
      view.setUint8(at + 14, (number & 15) | ((count & 15) << 4));
      const channel = scannerChannel ? scannerChannel[i] & 3 : 0;
      view.setUint8(at + 15, (bits & 15) | (channel << 4) | ((bits & 48) << 2));
      view.setUint8(at + 16, kind);
      if (userData) view.setUint8(at + 17, userData[i]);
      if (scanAngle) view.setInt16(at + 18, scanAngle[i], true);
      if (pointSourceId) view.setUint16(at + 20, pointSourceId[i], true);
    } else {
      view.setUint8(at + 14, (number & 7) | ((count & 7) << 3) | ((bits & 48) << 2));
      view.setUint8(at + 15, (kind & 31) | ((bits & 7) << 5));
      if (scanAngle) view.setInt8(at + 16, Math.max(-90, Math.min(90, Math.round(scanAngle[i] * 0.006))));
      if (userData) view.setUint8(at + 17, userData[i]);
      if (pointSourceId) view.setUint16(at + 18, pointSourceId[i], true);
    }
    if (gpsAt >= 0 && gpsTime) {
      const time = gpsTime[i];
      view.setFloat64(at + gpsAt, time, true);
      if (time < tally.gpsMin) tally.gpsMin = time;
      if (time > tally.gpsMax) tally.gpsMax = time;
    }
    if (colourAt >= 0 && points.red && points.green && points.blue) {
      view.setUint16(at + colourAt, points.red[i], true);
      view.setUint16(at + colourAt + 2, points.green[i], true);
      view.setUint16(at + colourAt + 4, points.blue[i], true);
    }
    if (nirAt >= 0 && points.nir) view.setUint16(at + nirAt, points.nir[i], true);
    if (waveAt >= 0 && points.waveform) {
      for (let k = 0; k < 29; k++) view.setUint8(at + waveAt + k, points.waveform[i * 29 + k]);
    }
    if (extraLength > 0 && points.extra) {
      for (let k = 0; k < extraLength; k++) view.setUint8(at + extraAt + k, points.extra[i * extraLength + k]);
    }
  }
  tally.count += to - from;
}
