/** What one point data record format holds. */
export interface PointFormat {
  /** Shortest record, bytes. */
  minLength: number;
  /** Byte position of each part in the record, -1 where the format lacks it. */
  gpsTime: number;
  colour: number;
  nir: number;
  waveform: number;
  /** Formats 0 to 5 pack return and class into fewer bits than 6 to 10. */
  legacy: boolean;
  /** Minor version of LAS 1.x that introduced the format. */
  since: number;
}

const row = (
  minLength: number,
  gpsTime: number,
  colour: number,
  nir: number,
  waveform: number,
  legacy: boolean,
  since: number,
): PointFormat => ({ minLength, gpsTime, colour, nir, waveform, legacy, since });

/**
 * Point data record formats 0 to 10. Lengths and positions: LAS specification 1.4 (ASPRS, revision 16), point data
 * records; the versions that introduced formats 0 to 5 are the earlier specifications' (1.0, 1.2, 1.3).
 */
export const POINT_FORMATS: readonly PointFormat[] = [
  row(20, -1, -1, -1, -1, true, 0),
  row(28, 20, -1, -1, -1, true, 0),
  row(26, -1, 20, -1, -1, true, 2),
  row(34, 20, 28, -1, -1, true, 2),
  row(57, 20, -1, -1, 28, true, 3),
  row(63, 20, 28, -1, 34, true, 3),
  row(30, 22, -1, -1, -1, false, 4),
  row(36, 22, 30, -1, -1, false, 4),
  row(38, 22, 30, 36, -1, false, 4),
  row(59, 22, -1, -1, 30, false, 4),
  row(67, 22, 30, 36, 38, false, 4),
];

/** Bytes of a wave packet in a point record. */
export const WAVE_PACKET_BYTES = 29;

/** Header size in bytes by minor version of LAS 1.x (1.0 to 1.5). */
export const HEADER_SIZES: readonly number[] = [227, 227, 227, 235, 375, 393];
