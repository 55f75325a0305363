import { Arena } from './arena';
import { BLOCK, Columns, layOutColumns } from './columns';
import { decodeLayered, startLayered } from './layered';
import { CODED, LAYER_EXTRA, layerRead, layerSize, layerState, layerUse, MOST_EXTRA } from './layers';
import { FINE, Layout } from './layout';
import { decodePointwise, preparePointwise, startPointwise } from './pointwise';
import { prepareKinds } from './returns-xy';
import { Stream } from './stream';

export { layerRead, layerSize };

/** Bytes below and above the chunk that a reader may touch before it is seen to have run over. */
const PADDING: usize = 4096 + 4 * 1024;

let input: usize = 0;
let points: u32 = 0;
let done: u32 = 0;
let wanted: u32 = 0;

/** Opens a point layout and lays out its columns. `parts`: 1 GPS time, 2 colour, 4 near infrared, 8 wave packet. */
export function open(layered: bool, parts: u32, extraLength: u32, version: u32): void {
  prepareKinds();
  preparePointwise();
  Layout.layered = layered;
  Layout.time = (parts & 1) !== 0;
  Layout.colour = (parts & 2) !== 0;
  Layout.nir = (parts & 4) !== 0;
  Layout.waveform = (parts & 8) !== 0;
  Layout.extraLength = min(extraLength, MOST_EXTRA);
  Layout.version = version;
  const core: u32 = layered ? 30 : Layout.time ? 28 : 20;
  Layout.recordLength =
    core + (Layout.colour ? 6 : 0) + (Layout.nir ? 2 : 0) + (Layout.waveform ? 29 : 0) + Layout.extraLength;
  layOutColumns(Layout.waveform, Layout.extraLength);
  input = Arena.top;
}

/** Address to copy a chunk of so many bytes to. */
export function room(size: u32): usize {
  Arena.top = input;
  return Arena.take(PADDING + size + PADDING) + PADDING;
}

/** Starts the chunk that was copied to the `room`. @returns 0, or what is wrong with it, see layout.ts. */
export function start(size: u32, count: u32, columns: u32): i32 {
  points = count;
  done = 0;
  wanted = columns;
  Stream.damage = 0;
  const chunk = input + PADDING;
  memory.fill(input, 0, PADDING);
  return Layout.layered ? startLayered(chunk, size, count, columns) : startPointwise(chunk, size, count, columns);
}

/** Decodes the next block of points. @returns how many, 0 after the last, or what is wrong. */
export function next(): i32 {
  const count = min(points - done, BLOCK);
  const from: u32 = done === 0 ? 1 : 0;
  const fault = Layout.layered ? decodeLayered(from, count) : decodePointwise(from, count, wanted);
  if (fault !== FINE) return fault;
  done += count;
  return <i32>count;
}

/**
 * Encoders end a stream so that a reader takes its last byte with the last point, and with a code that lies in a known
 * part of the interval. A reader that lost its way in between hardly ever ends like that.
 * @returns the first layer that was decoded and does not, or -1
 */
export function firstUneven(): i32 {
  const layers = LAYER_EXTRA + Layout.extraLength;
  for (let layer: u32 = 0; layer < layers; ++layer) {
    if (layerUse(layer) !== CODED) continue;
    if (layerRead(layer) !== layerSize(layer) || !endsAsWritten(layerState(layer))) return <i32>layer;
  }
  return -1;
}

/** A wide interval is ended by one byte more, of its base plus 2^24, a narrow one by two, of its base plus 2^23; then zeros follow. */
function endsAsWritten(state: u64): bool {
  const offset = <u32>state;
  if (<u32>(state >> 32) > 1 << 25) return offset > 0 && offset <= 1 << 24;
  return offset > (1 << 23) - (1 << 16) && offset <= 1 << 23;
}

export function isCoded(layer: u32): bool {
  return layerUse(layer) === CODED;
}

/** Addresses of the columns, in the order of the host's list. */
export function column(index: u32): usize {
  switch (index) {
    case 0: return Columns.x;
    case 1: return Columns.y;
    case 2: return Columns.z;
    case 3: return Columns.intensity;
    case 4: return Columns.returnNumber;
    case 5: return Columns.returnCount;
    case 6: return Columns.flags;
    case 7: return Columns.classification;
    case 8: return Columns.scannerChannel;
    case 9: return Columns.scanAngle;
    case 10: return Columns.userData;
    case 11: return Columns.pointSourceId;
    case 12: return Columns.gpsTime;
    case 13: return Columns.red;
    case 14: return Columns.green;
    case 15: return Columns.blue;
    case 16: return Columns.nir;
    case 17: return Columns.waveform;
    default: return Columns.extra;
  }
}
