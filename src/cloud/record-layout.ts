import {
  loadRecords,
  type RecordStrip,
  recordsInStrip,
  takeBits,
  takeDoubles,
  takeFlags,
  takeLegacyFlags,
  takeShorts,
  takeSignedBytes,
  takeSignedShorts,
  takeTriples,
} from '../kernel/records.js';
import type { Column, PointBatch } from './columns.js';
import { BLOCK_POINTS, createBatch, residentPoints } from './columns.js';
import { POINT_FORMATS, WAVE_PACKET_BYTES } from './point-formats.js';

/** Byte positions of the parts of an uncompressed point record. */
export interface RecordLayout {
  format: number;
  recordLength: number;
  legacy: boolean;
  /** Byte positions in the record, -1 where the format lacks the part. */
  gpsTime: number;
  colour: number;
  nir: number;
  waveform: number;
  /** Start and number of the extra bytes. */
  extra: number;
  extraLength: number;
}

/** Layout of a format (0 to 10) whose records are `recordLength` bytes long. */
export function recordLayout(format: number, recordLength: number): RecordLayout {
  const rules = POINT_FORMATS[format];
  return {
    format,
    recordLength,
    legacy: rules.legacy,
    gpsTime: rules.gpsTime,
    colour: rules.colour,
    nir: rules.nir,
    waveform: rules.waveform,
    extra: rules.minLength,
    extraLength: recordLength - rules.minLength,
  };
}

/** The columns asked for that the layout has. */
export function availableColumns(layout: RecordLayout, asked: ReadonlySet<Column>): Set<Column> {
  const has = new Set(asked);
  if (layout.legacy) has.delete('scannerChannel');
  if (layout.gpsTime < 0) has.delete('gpsTime');
  if (layout.colour < 0) has.delete('colour');
  if (layout.nir < 0) has.delete('nir');
  if (layout.waveform < 0) has.delete('waveform');
  if (layout.extraLength === 0) has.delete('extra');
  return has;
}

/** Collects raw records and passes on full batches. */
export interface BatchFiller {
  /** Whole records, as many as `count`; they are copied before the call returns. */
  append(records: Uint8Array, count: number): void;
  /** Hands on what is left. */
  flush(): void;
  /** Releases the memory of the batch; it must not be used afterwards. */
  close(): void;
}

/** Extra bytes of one batch at the most. */
const EXTRA_BYTES_MAX = 8 << 20;

/**
 * A filler of batches of the layout's available columns. `sink` gets the same batch again and again.
 * @param first ordinal of the first point to come
 */
export function createFiller(
  layout: RecordLayout,
  asked: ReadonlySet<Column>,
  first: number,
  sink: (batch: PointBatch) => void,
): BatchFiller {
  const has = availableColumns(layout, asked);
  // Records may have up to 65,535 bytes, most of them extra: then fewer points make a batch.
  const capacity = has.has('extra')
    ? Math.min(BLOCK_POINTS, Math.ceil(EXTRA_BYTES_MAX / layout.extraLength))
    : BLOCK_POINTS;
  const resident = capacity === BLOCK_POINTS && has.has('xyz') ? residentPoints.acquire() : null;
  const batch = createBatch(has, capacity, layout.extraLength, resident);
  batch.first = first;
  const emit = () => {
    sink(batch);
    batch.first += batch.count;
    batch.count = 0;
  };
  return {
    append(records, count) {
      let done = 0;
      while (done < count) {
        const n = Math.min(count - done, batch.capacity - batch.count);
        unpackRecords(records, done * layout.recordLength, n, layout, batch);
        done += n;
        if (batch.count === batch.capacity) emit();
      }
    },
    flush() {
      if (batch.count > 0) emit();
    },
    close: () => residentPoints.release(resident),
  };
}

/** Unpacks `count` records from byte `begin` of `records` behind the points already in the batch. */
export function unpackRecords(
  records: Uint8Array,
  begin: number,
  count: number,
  layout: RecordLayout,
  batch: PointBatch,
): void {
  const step = layout.recordLength;
  const most = recordsInStrip(step);
  for (let done = 0; done < count; done += most) {
    const n = Math.min(most, count - done);
    const raw = records.subarray(begin + done * step, begin + (done + n) * step);
    const strip = { step, count: n, at: batch.count + done };
    loadRecords(raw);
    unpackStrip(strip, layout, batch);
    unpackLong(raw, strip, layout, batch);
  }
  batch.count += count;
}

// Bit layouts below: LAS specification 1.4, point data records (formats 0 and 6, which the others extend).

function unpackStrip(strip: RecordStrip, layout: RecordLayout, batch: PointBatch): void {
  const { has } = batch;
  if (has.has('xyz')) takeTriples(0, strip, batch.x, batch.y, batch.z);
  if (has.has('intensity')) takeShorts(12, strip, batch.intensity);
  if (layout.legacy) unpackLegacy(strip, batch);
  else unpackExtended(strip, batch);
  if (has.has('userData')) takeBits(17, strip, batch.userData);
  if (has.has('pointSourceId')) takeShorts(layout.legacy ? 18 : 20, strip, batch.pointSourceId);
  if (has.has('gpsTime')) takeDoubles(layout.gpsTime, strip, batch.gpsTime);
  if (has.has('colour')) {
    takeShorts(layout.colour, strip, batch.red);
    takeShorts(layout.colour + 2, strip, batch.green);
    takeShorts(layout.colour + 4, strip, batch.blue);
  }
  if (has.has('nir')) takeShorts(layout.nir, strip, batch.nir);
}

function unpackLegacy(strip: RecordStrip, batch: PointBatch): void {
  const { has } = batch;
  if (has.has('returns')) {
    takeBits(14, strip, batch.returnNumber, 0, 7);
    takeBits(14, strip, batch.returnCount, 3, 7);
  }
  if (has.has('flags')) takeLegacyFlags(14, strip, batch.flags);
  if (has.has('classification')) takeBits(15, strip, batch.classification, 0, 31);
  if (has.has('scanAngle')) takeSignedBytes(16, strip, batch.scanAngle);
}

function unpackExtended(strip: RecordStrip, batch: PointBatch): void {
  const { has } = batch;
  if (has.has('returns')) {
    takeBits(14, strip, batch.returnNumber, 0, 15);
    takeBits(14, strip, batch.returnCount, 4, 15);
  }
  if (has.has('flags')) takeFlags(15, strip, batch.flags);
  if (has.has('classification')) takeBits(16, strip, batch.classification);
  if (has.has('scannerChannel')) takeBits(15, strip, batch.scannerChannel, 4, 3);
  if (has.has('scanAngle')) takeSignedShorts(18, strip, batch.scanAngle);
}

/** What is of any length, and seldom asked for. */
function unpackLong(records: Uint8Array, strip: RecordStrip, layout: RecordLayout, batch: PointBatch): void {
  const { has } = batch;
  if (has.has('waveform')) copyParts(records, layout.waveform, WAVE_PACKET_BYTES, strip, batch.waveform);
  if (has.has('extra')) copyParts(records, layout.extra, layout.extraLength, strip, batch.extra);
}

function copyParts(
  records: Uint8Array,
  offset: number,
  size: number,
  { step, count, at }: RecordStrip,
  into: Uint8Array,
): void {
  for (let i = 0, from = offset, to = at * size; i < count; i++, from += step) {
    for (let k = 0; k < size; k++) into[to++] = records[from + k];
  }
}
