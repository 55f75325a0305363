import type { Column, PointBatch } from './columns.js';
import { BLOCK_POINTS, createBatch } from './columns.js';
import { POINT_FORMATS, WAVE_PACKET_BYTES } from './formats.js';

/** Where everything stands in an uncompressed point record. */
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

/** Takes raw records, hands on full batches. */
export interface BatchFiller {
  /** Records at the start of `view`, which must span `count` records; they are copied before the call returns. */
  append(view: DataView, count: number): void;
  /** Hands on what is left. */
  flush(): void;
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
  const batch = createBatch(has, capacity, layout.extraLength);
  batch.first = first;
  const emit = () => {
    sink(batch);
    batch.first += batch.count;
    batch.count = 0;
  };
  return {
    append(view, count) {
      let done = 0;
      while (done < count) {
        const n = Math.min(count - done, batch.capacity - batch.count);
        unpackRecords(view, done * layout.recordLength, n, layout, batch);
        done += n;
        if (batch.count === batch.capacity) emit();
      }
    },
    flush() {
      if (batch.count > 0) emit();
    },
  };
}

/** Records looked at in one go: their bytes stay in the processor's first cache while each column is taken out. */
const STRIP = 512;

/** Unpacks `count` records from byte `begin` of `view` behind the points already in the batch. */
export function unpackRecords(
  view: DataView,
  begin: number,
  count: number,
  layout: RecordLayout,
  batch: PointBatch,
): void {
  for (let done = 0; done < count; done += STRIP) {
    const n = Math.min(STRIP, count - done);
    unpackStrip(view, begin + done * layout.recordLength, n, layout, batch, batch.count + done);
  }
  batch.count += count;
}

function unpackStrip(view: DataView, p: number, n: number, layout: RecordLayout, batch: PointBatch, at: number): void {
  const { has } = batch;
  const step = layout.recordLength;
  if (has.has('xyz')) unpackXyz(view, p, n, step, batch, at);
  if (has.has('intensity')) unpackU16(view, p + 12, n, step, batch.intensity, at);
  if (layout.legacy) {
    if (has.has('returns')) unpackReturnsLegacy(view, p, n, step, batch, at);
    if (has.has('flags')) unpackFlagsLegacy(view, p, n, step, batch.flags, at);
    if (has.has('classification')) unpackClassLegacy(view, p, n, step, batch.classification, at);
    if (has.has('scanAngle')) unpackAngleLegacy(view, p, n, step, batch.scanAngle, at);
  } else {
    if (has.has('returns')) unpackReturns(view, p, n, step, batch, at);
    if (has.has('flags')) unpackFlags(view, p, n, step, batch.flags, at);
    if (has.has('classification')) unpackU8(view, p + 16, n, step, batch.classification, at);
    if (has.has('scannerChannel')) unpackChannel(view, p, n, step, batch.scannerChannel, at);
    if (has.has('scanAngle')) unpackAngle(view, p, n, step, batch.scanAngle, at);
  }
  if (has.has('userData')) unpackU8(view, p + 17, n, step, batch.userData, at);
  if (has.has('pointSourceId')) unpackU16(view, p + (layout.legacy ? 18 : 20), n, step, batch.pointSourceId, at);
  if (has.has('gpsTime')) unpackF64(view, p + layout.gpsTime, n, step, batch.gpsTime, at);
  if (has.has('colour')) {
    unpackU16(view, p + layout.colour, n, step, batch.red, at);
    unpackU16(view, p + layout.colour + 2, n, step, batch.green, at);
    unpackU16(view, p + layout.colour + 4, n, step, batch.blue, at);
  }
  if (has.has('nir')) unpackU16(view, p + layout.nir, n, step, batch.nir, at);
  if (has.has('waveform')) unpackBytes(view, p + layout.waveform, n, step, batch.waveform, at, WAVE_PACKET_BYTES);
  if (has.has('extra')) unpackBytes(view, p + layout.extra, n, step, batch.extra, at, layout.extraLength);
}

// Bit layouts below: LAS specification 1.4, point data records (formats 0 and 6, which the others extend).

function unpackXyz(view: DataView, p: number, n: number, step: number, batch: PointBatch, at: number): void {
  const { x, y, z } = batch;
  for (let i = at, q = p, end = at + n; i < end; i++, q += step) {
    x[i] = view.getInt32(q, true);
    y[i] = view.getInt32(q + 4, true);
    z[i] = view.getInt32(q + 8, true);
  }
}

function unpackU8(view: DataView, p: number, n: number, step: number, into: Uint8Array, at: number): void {
  for (let i = at, q = p, end = at + n; i < end; i++, q += step) into[i] = view.getUint8(q);
}

function unpackU16(view: DataView, p: number, n: number, step: number, into: Uint16Array, at: number): void {
  for (let i = at, q = p, end = at + n; i < end; i++, q += step) into[i] = view.getUint16(q, true);
}

function unpackF64(view: DataView, p: number, n: number, step: number, into: Float64Array, at: number): void {
  for (let i = at, q = p, end = at + n; i < end; i++, q += step) into[i] = view.getFloat64(q, true);
}

function unpackBytes(
  view: DataView,
  p: number,
  n: number,
  step: number,
  into: Uint8Array,
  at: number,
  size: number,
): void {
  for (let i = 0, q = p, t = at * size; i < n; i++, q += step) {
    for (let k = 0; k < size; k++) into[t++] = view.getUint8(q + k);
  }
}

function unpackReturnsLegacy(view: DataView, p: number, n: number, step: number, batch: PointBatch, at: number): void {
  const { returnNumber, returnCount } = batch;
  for (let i = at, q = p + 14, end = at + n; i < end; i++, q += step) {
    const b = view.getUint8(q);
    returnNumber[i] = b & 7;
    returnCount[i] = (b >> 3) & 7;
  }
}

function unpackReturns(view: DataView, p: number, n: number, step: number, batch: PointBatch, at: number): void {
  const { returnNumber, returnCount } = batch;
  for (let i = at, q = p + 14, end = at + n; i < end; i++, q += step) {
    const b = view.getUint8(q);
    returnNumber[i] = b & 15;
    returnCount[i] = b >> 4;
  }
}

function unpackFlagsLegacy(view: DataView, p: number, n: number, step: number, into: Uint8Array, at: number): void {
  for (let i = at, q = p + 14, end = at + n; i < end; i++, q += step) {
    into[i] = (view.getUint8(q + 1) >> 5) | ((view.getUint8(q) >> 6) << 4);
  }
}

function unpackFlags(view: DataView, p: number, n: number, step: number, into: Uint8Array, at: number): void {
  for (let i = at, q = p + 15, end = at + n; i < end; i++, q += step) {
    const b = view.getUint8(q);
    into[i] = (b & 15) | ((b >> 6) << 4);
  }
}

function unpackClassLegacy(view: DataView, p: number, n: number, step: number, into: Uint8Array, at: number): void {
  for (let i = at, q = p + 15, end = at + n; i < end; i++, q += step) into[i] = view.getUint8(q) & 31;
}

function unpackChannel(view: DataView, p: number, n: number, step: number, into: Uint8Array, at: number): void {
  for (let i = at, q = p + 15, end = at + n; i < end; i++, q += step) into[i] = (view.getUint8(q) >> 4) & 3;
}

function unpackAngleLegacy(view: DataView, p: number, n: number, step: number, into: Int16Array, at: number): void {
  for (let i = at, q = p + 16, end = at + n; i < end; i++, q += step) into[i] = view.getInt8(q);
}

function unpackAngle(view: DataView, p: number, n: number, step: number, into: Int16Array, at: number): void {
  for (let i = at, q = p + 18, end = at + n; i < end; i++, q += step) into[i] = view.getInt16(q, true);
}
