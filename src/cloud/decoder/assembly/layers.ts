import { begin, Stream } from './stream';

/*
 * The layers of a chunk: one stream for each attribute, with its size in the chunk, in this order. The streams of
 * extra bytes, one a byte, follow.
 */
export const LAYER_RETURNS_XY: u32 = 0;
export const LAYER_Z: u32 = 1;
export const LAYER_CLASSIFICATION: u32 = 2;
export const LAYER_FLAGS: u32 = 3;
export const LAYER_INTENSITY: u32 = 4;
export const LAYER_SCAN_ANGLE: u32 = 5;
export const LAYER_USER_DATA: u32 = 6;
export const LAYER_POINT_SOURCE: u32 = 7;
export const LAYER_GPS_TIME: u32 = 8;
export const LAYER_COLOUR: u32 = 9;
export const LAYER_NIR: u32 = 10;
export const LAYER_WAVEFORM: u32 = 11;
export const LAYER_EXTRA: u32 = 12;

/** Most extra bytes a point; real files have a handful. */
export const MOST_EXTRA: u32 = 1024;

/** What a layer is asked for. */
export const ABSENT: u32 = 0;
/** Not asked for, or no bytes stored since no point differs from the first. */
export const CONSTANT: u32 = 1;
/** Asked for, and stored as a stream. */
export const CODED: u32 = 2;

// A record a layer: state of the reader, unread bytes lie below, first byte in memory, size, what it is asked for.
const STATE: usize = 0;
const AT: usize = 8;
const BYTES: usize = 12;
const SIZE: usize = 16;
const USE: usize = 20;
const RECORD: usize = 24;
const RECORDS = memory.data(<i32>RECORD * (12 + 1024), 8);

// @ts-expect-error: decorator
@inline
function record(layer: u32): usize {
  return RECORDS + RECORD * layer;
}

/** Marks all layers as absent. */
export function forgetLayers(): void {
  memory.fill(RECORDS, 0, RECORD * (LAYER_EXTRA + MOST_EXTRA));
}

export function setLayer(layer: u32, bytes: usize, size: u32, wanted: bool): void {
  const r = record(layer);
  store<u32>(r, bytes, BYTES);
  store<u32>(r, size, SIZE);
  store<u32>(r, wanted && size > 0 ? CODED : CONSTANT, USE);
  if (!wanted || size === 0) return;
  turnRound(bytes, bytes + size);
  store<u64>(r, begin(bytes + size), STATE);
  store<u32>(r, Stream.at, AT);
}

/** Takes a layer up where it was left. */
// @ts-expect-error: decorator
@inline
export function resume(layer: u32): u64 {
  Stream.at = load<u32>(record(layer), AT);
  return load<u64>(record(layer), STATE);
}

// @ts-expect-error: decorator
@inline
export function suspend(layer: u32, state: u64): void {
  store<u32>(record(layer), Stream.at, AT);
  store<u64>(record(layer), state, STATE);
}

/** The reader must not go below this address. */
// @ts-expect-error: decorator
@inline
export function floor(layer: u32): usize {
  return load<u32>(record(layer), BYTES);
}

/** ABSENT, CONSTANT or CODED. */
export function layerUse(layer: u32): u32 {
  return load<u32>(record(layer), USE);
}

/** Bytes of a layer in the chunk. */
export function layerSize(layer: u32): u32 {
  return load<u32>(record(layer), SIZE);
}

/** Bytes read of a layer; more than its size when it ended too early. */
export function layerRead(layer: u32): u32 {
  const r = record(layer);
  return load<u32>(r, BYTES) + load<u32>(r, SIZE) - load<u32>(r, AT);
}

/** Width and offset of a layer's reader, for the check of a stream's end. */
export function layerState(layer: u32): u64 {
  return load<u64>(record(layer), STATE);
}

/** Reverses the order of bytes in place. */
export function turnRound(from: usize, to: usize): void {
  while (to - from >= 32) {
    to -= 16;
    const head = v128.load(from);
    const tail = v128.load(to);
    v128.store(from, reversed(tail));
    v128.store(to, reversed(head));
    from += 16;
  }
  while (to - from >= 2) {
    to -= 1;
    const head = load<u8>(from);
    store<u8>(from, load<u8>(to));
    store<u8>(to, head);
    from += 1;
  }
}

// @ts-expect-error: decorator
@inline
function reversed(bytes: v128): v128 {
  return i8x16.swizzle(bytes, i8x16(15, 14, 13, 12, 11, 10, 9, 8, 7, 6, 5, 4, 3, 2, 1, 0));
}
