import type { FormatIssue } from './format-issue.js';

/** Bits of HeaderFields.globalEncoding. */
export const Encoding = {
  standardGpsTime: 1,
  waveformInside: 2,
  waveformOutside: 4,
  syntheticReturns: 8,
  wkt: 16,
} as const;

/** Three numbers, x y z. */
export type Triple = [number, number, number];

/**
 * The public header block of LAS 1.0 to 1.5, as it is in the file. Fields a version lacks are 0 (counts, positions)
 * or null (GPS time range and time offset, LAS 1.5 only).
 */
export interface HeaderFields {
  versionMajor: number;
  versionMinor: number;
  fileSourceId: number;
  globalEncoding: number;
  /** 8-4-4-4-12 hexadecimal digits. */
  guid: string;
  systemIdentifier: string;
  generatingSoftware: string;
  /** Day of the year, 1 = 1 January. */
  creationDay: number;
  creationYear: number;
  /** Bytes, as stated in the file. */
  headerSize: number;
  /** Absolute byte position of the first point record (LAZ: of the pointer to the chunk table). */
  pointOffset: number;
  vlrCount: number;
  /** 0 to 10, without the bits that mark compression. */
  pointFormat: number;
  /** Bit 7 of the format byte: the points are LAZ. */
  compressed: boolean;
  /** Bytes a point, uncompressed. */
  recordLength: number;
  legacyPointCount: number;
  /** Five numbers. */
  legacyPointsByReturn: number[];
  /** The count that holds, 64-bit or legacy. May be more than the file has room for; that is an issue. */
  pointCount: number;
  /** Fifteen numbers, belonging to `pointCount`. */
  pointsByReturn: number[];
  /** Position in the file of the count that holds. */
  pointCountAt: number;
  scale: Triple;
  offset: Triple;
  min: Triple;
  max: Triple;
  waveformStart: number;
  evlrStart: number;
  evlrCount: number;
  gpsTimeMin: number | null;
  gpsTimeMax: number | null;
  /** LAS 1.5: GPS times are standard GPS time minus this many million seconds when bit 6 of the encoding is set. */
  timeOffset: number | null;
  /** What the format's rules do not allow. */
  formatIssues: FormatIssue[];
}
