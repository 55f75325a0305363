/**
 * Point columns: what a reader decodes. A batch is a block of consecutive points, each attribute a typed array of its
 * own, exactly as stored in the file (raw integers; nothing scaled, rounded or re-classed).
 */
export type Column =
  | 'xyz'
  | 'intensity'
  | 'returns'
  | 'flags'
  | 'classification'
  | 'scannerChannel'
  | 'scanAngle'
  | 'userData'
  | 'pointSourceId'
  | 'gpsTime'
  | 'colour'
  | 'nir'
  | 'waveform'
  | 'extra';

export const ALL_COLUMNS: readonly Column[] = [
  'xyz',
  'intensity',
  'returns',
  'flags',
  'classification',
  'scannerChannel',
  'scanAngle',
  'userData',
  'pointSourceId',
  'gpsTime',
  'colour',
  'nir',
  'waveform',
  'extra',
];

/** Bits of PointBatch.flags, the same for every point format. */
export const Flag = {
  synthetic: 1,
  keyPoint: 2,
  withheld: 4,
  /** Formats 6 to 10 only; formats 0 to 5 mark overlap by class 12, which is left as it is stored. */
  overlap: 8,
  scanDirection: 16,
  edgeOfFlightLine: 32,
} as const;

/**
 * A block of points. Arrays have the length `capacity`; only the first `count` entries are meaningful. Columns that were
 * not asked for, or that the point format lacks, hold zeros: ask `has`.
 */
export interface PointBatch {
  readonly capacity: number;
  count: number;
  /** Ordinal in the file of the first point of the batch (for COPC: ordinal in reading order). */
  first: number;
  /** Columns that are really filled. */
  readonly has: ReadonlySet<Column>;
  /** Raw integer coordinates; real = raw * scale + offset (header). */
  readonly x: Int32Array;
  readonly y: Int32Array;
  readonly z: Int32Array;
  readonly intensity: Uint16Array;
  readonly returnNumber: Uint8Array;
  readonly returnCount: Uint8Array;
  /** See Flag. */
  readonly flags: Uint8Array;
  readonly classification: Uint8Array;
  readonly scannerChannel: Uint8Array;
  /** Formats 0 to 5: whole degrees; formats 6 to 10: steps of 0.006 degree. As stored. */
  readonly scanAngle: Int16Array;
  readonly userData: Uint8Array;
  readonly pointSourceId: Uint16Array;
  readonly gpsTime: Float64Array;
  readonly red: Uint16Array;
  readonly green: Uint16Array;
  readonly blue: Uint16Array;
  readonly nir: Uint16Array;
  /** 29 bytes a point, as stored, when the format has wave packets and 'waveform' was asked for; else empty. */
  readonly waveform: Uint8Array;
  /** `extraLength` bytes a point, as stored; empty unless 'extra' was asked for. */
  readonly extra: Uint8Array;
  readonly extraLength: number;
  /** COPC: how many points of the batch lie outside the cube of their node. */
  strays?: number;
}

/** Points decoded at a time: small enough that one block of every column stays in the processor's cache. */
export const BLOCK_POINTS = 16_384;

/** Allocates an empty batch with only the columns asked for; the others share one zero-filled array a type. */
export function createBatch(columns: ReadonlySet<Column>, capacity = BLOCK_POINTS, extraLength = 0): PointBatch {
  const none8 = new Uint8Array(capacity);
  const none16 = new Uint16Array(capacity);
  const u8 = (c: Column) => (columns.has(c) ? new Uint8Array(capacity) : none8);
  const u16 = (c: Column) => (columns.has(c) ? new Uint16Array(capacity) : none16);
  return {
    capacity,
    count: 0,
    first: 0,
    has: columns,
    x: new Int32Array(capacity),
    y: new Int32Array(capacity),
    z: new Int32Array(capacity),
    intensity: u16('intensity'),
    returnNumber: u8('returns'),
    returnCount: u8('returns'),
    flags: u8('flags'),
    classification: u8('classification'),
    scannerChannel: u8('scannerChannel'),
    scanAngle: new Int16Array(capacity),
    userData: u8('userData'),
    pointSourceId: u16('pointSourceId'),
    gpsTime: new Float64Array(capacity),
    red: u16('colour'),
    green: u16('colour'),
    blue: u16('colour'),
    nir: u16('nir'),
    waveform: new Uint8Array(columns.has('waveform') ? capacity * 29 : 0),
    extra: new Uint8Array(columns.has('extra') ? capacity * extraLength : 0),
    extraLength: columns.has('extra') ? extraLength : 0,
  };
}
