import { allocate } from '../kernel/loops.js';
import { ThreadBuffer } from '../kernel/thread-buffer.js';

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

/** All columns. */
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
  /** Columns that hold values. */
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
  /** COPC: number of points of the batch outside the cube of their node. */
  outsideNode?: number;
}

/** Points decoded at a time: small enough that one block of every column stays in the processor's cache. */
export const BLOCK_POINTS = 16_384;

/** Columns of plain numbers, all of them. */
type PlainColumns = Omit<
  PointBatch,
  'capacity' | 'count' | 'first' | 'has' | 'waveform' | 'extra' | 'extraLength' | 'outsideNode'
>;

/** Columns in the memory of the compiled loops, for BLOCK_POINTS points. One set per thread. */
export const residentPoints = new ThreadBuffer<PlainColumns>(() => {
  const n = BLOCK_POINTS;
  const u8 = () => allocate(Uint8Array, n).view;
  const u16 = () => allocate(Uint16Array, n).view;
  const i32 = () => allocate(Int32Array, n).view;
  return {
    x: i32(),
    y: i32(),
    z: i32(),
    intensity: u16(),
    returnNumber: u8(),
    returnCount: u8(),
    flags: u8(),
    classification: u8(),
    scannerChannel: u8(),
    scanAngle: allocate(Int16Array, n).view,
    userData: u8(),
    pointSourceId: u16(),
    gpsTime: allocate(Float64Array, n).view,
    red: u16(),
    green: u16(),
    blue: u16(),
    nir: u16(),
  };
});

/**
 * Makes an empty batch with only the columns asked for; the others share one zero-filled array a type.
 * @param resident arrays to use, for BLOCK_POINTS points, instead of new ones
 */
export function createBatch(
  columns: ReadonlySet<Column>,
  capacity = BLOCK_POINTS,
  extraLength = 0,
  resident: PlainColumns | null = null,
): PointBatch {
  const none8 = new Uint8Array(capacity);
  const none16 = new Uint16Array(capacity);
  const u8 = (c: Column, known?: Uint8Array) => (columns.has(c) ? (known ?? new Uint8Array(capacity)) : none8);
  const u16 = (c: Column, known?: Uint16Array) => (columns.has(c) ? (known ?? new Uint16Array(capacity)) : none16);
  return {
    capacity,
    count: 0,
    first: 0,
    has: columns,
    x: resident?.x ?? new Int32Array(capacity),
    y: resident?.y ?? new Int32Array(capacity),
    z: resident?.z ?? new Int32Array(capacity),
    intensity: u16('intensity', resident?.intensity),
    returnNumber: u8('returns', resident?.returnNumber),
    returnCount: u8('returns', resident?.returnCount),
    flags: u8('flags', resident?.flags),
    classification: u8('classification', resident?.classification),
    scannerChannel: u8('scannerChannel', resident?.scannerChannel),
    scanAngle: (columns.has('scanAngle') && resident?.scanAngle) || new Int16Array(capacity),
    userData: u8('userData', resident?.userData),
    pointSourceId: u16('pointSourceId', resident?.pointSourceId),
    gpsTime: (columns.has('gpsTime') && resident?.gpsTime) || new Float64Array(capacity),
    red: u16('colour', resident?.red),
    green: u16('colour', resident?.green),
    blue: u16('colour', resident?.blue),
    nir: u16('nir', resident?.nir),
    waveform: new Uint8Array(columns.has('waveform') ? capacity * 29 : 0),
    extra: new Uint8Array(columns.has('extra') ? capacity * extraLength : 0),
    extraLength: columns.has('extra') ? extraLength : 0,
  };
}
