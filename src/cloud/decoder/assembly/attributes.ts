import { Columns } from './columns';
import { currentTime, GPS_TIME_SIZE, passTime, startTimes } from './gps-time';
import { Integer, passIntegerLike } from './integer';
import {
  floor,
  LAYER_CLASSIFICATION,
  LAYER_FLAGS,
  LAYER_GPS_TIME,
  LAYER_INTENSITY,
  LAYER_POINT_SOURCE,
  LAYER_SCAN_ANGLE,
  LAYER_USER_DATA,
  LAYER_Z,
  resume,
  suspend,
} from './layers';
import { modelIn } from './probability-model';
import {
  HEIGHT_CONTEXT,
  HEIGHT_LEVEL_SHIFT,
  PULSE_NEW_ANGLE,
  PULSE_NEW_SOURCE,
  PULSE_NEW_TIME,
  PULSE_PLACE,
  PULSE_SINGLE,
} from './returns-xy';
import { means, pass, peek, Stream } from './stream';

/*
 * The layers of single attributes. Each has four contexts, one a scanner channel, and goes through a block of points
 * on its own, so that its reader and its models are all the processor has to hold at that time.
 *
 * A context begins with the mark that it is in use and the last value; a new one takes over the last value of the
 * channel before. All functions return false when the layer ended too early.
 */
const USED: usize = 0;
const LAST: usize = 4;
const OWN: usize = 8;

const SIZE_Z: usize = 256;
const SIZE_SYMBOLS: usize = 264;
const SIZE_INTENSITY: usize = 192;
const SIZE_NUMBER: usize = 152;
const SIZE_TIME: usize = 264;
const Z = memory.data(4 * 256, 8);
const CLASSIFICATION = memory.data(4 * 264, 8);
const FLAGS = memory.data(4 * 264, 8);
const USER_DATA = memory.data(4 * 264, 8);
const INTENSITY = memory.data(4 * 192, 8);
const SCAN_ANGLE = memory.data(4 * 152, 8);
const POINT_SOURCE = memory.data(4 * 152, 8);
const GPS_TIME = memory.data(4 * 264, 8);
/** The channel each layer was left at, four bytes a layer. */
const CURRENT = memory.data(4 * 16, 4);

function start(contexts: usize, size: usize, layer: u32, channel: u32, value: i32): usize {
  memory.fill(contexts, 0, 4 * size);
  store<u32>(CURRENT + 4 * layer, channel);
  const context = contexts + size * channel;
  store<u32>(context, 1, USED);
  store<i32>(context, value, LAST);
  return context;
}

/** Leaves a context for another channel's. The own values of a fresh one (`own` of them, `width` bytes each) begin as the last value. */
function change(context: usize, last: i32, next: usize): bool {
  store<i32>(context, last, LAST);
  if (load<u32>(next, USED) !== 0) return false;
  store<u32>(next, 1, USED);
  store<i32>(next, last, LAST);
  return true;
}

const Z_LEVELS: usize = OWN;
const Z_CODER: usize = 40;

/** Starts the layer with the height of the first point. */
export function startZ(channel: u32, z: i32): void {
  spreadZ(start(Z, SIZE_Z, LAYER_Z, channel, z), z);
}

function spreadZ(context: usize, z: i32): void {
  for (let level: usize = 0; level < 8; ++level) store<i32>(context + 4 * level, z, Z_LEVELS);
}

/** Decodes the height of points `from` to before `to` of the block. @returns false when the layer ended too early */
export function decodeZ(from: u32, to: u32): bool {
  const least = floor(LAYER_Z);
  let state = resume(LAYER_Z);
  let channel = load<u32>(CURRENT + 4 * LAYER_Z);
  let context = Z + SIZE_Z * channel;
  let z = load<i32>(context, LAST);
  let bits: u32 = 0;
  for (let i = from; i < to; ++i) {
    const own = <u32>load<u8>(Columns.scannerChannel + i);
    if (own !== channel) {
      channel = own;
      const next = Z + SIZE_Z * own;
      if (change(context, z, next)) spreadZ(next, z);
      context = next;
    }
    const height = <u32>load<u8>(Columns.height + i);
    const level = context + 4 * (height >> HEIGHT_LEVEL_SHIFT);
    state = passIntegerLike(state, context + Z_CODER, height & HEIGHT_CONTEXT, 32, bits);
    bits = Integer.bits;
    z = load<i32>(level, Z_LEVELS) + Integer.difference;
    store<i32>(level, z, Z_LEVELS);
    store<i32>(Columns.z + 4 * i, z);
    if (Stream.at < least) return false;
  }
  store<i32>(context, z, LAST);
  store<u32>(CURRENT + 4 * LAYER_Z, channel);
  suspend(LAYER_Z, state);
  return true;
}

/** What the three layers of plain symbols have in common; the layer is known when it is compiled, so only its branch is left. */
// @ts-expect-error: decorator
@inline
function decodeSymbols(layer: u32, contexts: usize, column: usize, from: u32, to: u32): bool {
  const least = floor(layer);
  let state = resume(layer);
  let channel = load<u32>(CURRENT + 4 * layer);
  let context = contexts + SIZE_SYMBOLS * channel;
  let last = load<u32>(context, LAST);
  for (let i = from; i < to; ++i) {
    const own = <u32>load<u8>(Columns.scannerChannel + i);
    if (own !== channel) {
      channel = own;
      const next = contexts + SIZE_SYMBOLS * own;
      change(context, last, next);
      context = next;
      last = load<u32>(context, LAST);
    }
    let model: usize;
    if (layer === LAYER_CLASSIFICATION) {
      const single = u32((<u32>load<u8>(Columns.pulse + i) & PULSE_PLACE) === PULSE_SINGLE);
      model = modelIn(context + OWN + 4 * (((last & 31) << 1) + single), 256);
    } else if (layer === LAYER_FLAGS) {
      model = modelIn(context + OWN + 4 * last, 64);
    } else {
      model = modelIn(context + OWN + 4 * (last >> 2), 256);
    }
    if (!means(state, model, last)) last = peek(state, model);
    state = pass(state, model, last);
    store<u8>(column + i, <u8>last);
    if (Stream.at < least) return false;
  }
  store<u32>(context, last, LAST);
  store<u32>(CURRENT + 4 * layer, channel);
  suspend(layer, state);
  return true;
}

/** Starts the layer with the class of the first point. */
export function startClassification(channel: u32, classification: u32): void {
  start(CLASSIFICATION, SIZE_SYMBOLS, LAYER_CLASSIFICATION, channel, classification);
}

/** Decodes the class of points `from` to before `to` of the block. @returns false when the layer ended too early */
export function decodeClassification(from: u32, to: u32): bool {
  return decodeSymbols(LAYER_CLASSIFICATION, CLASSIFICATION, Columns.classification, from, to);
}

/** Starts the layer with the flags of the first point. */
export function startFlags(channel: u32, flags: u32): void {
  start(FLAGS, SIZE_SYMBOLS, LAYER_FLAGS, channel, flags);
}

/** Decodes the flags of points `from` to before `to` of the block. @returns false when the layer ended too early */
export function decodeFlags(from: u32, to: u32): bool {
  return decodeSymbols(LAYER_FLAGS, FLAGS, Columns.flags, from, to);
}

/** Starts the layer with the user data of the first point. */
export function startUserData(channel: u32, value: u32): void {
  start(USER_DATA, SIZE_SYMBOLS, LAYER_USER_DATA, channel, value);
}

/** Decodes the user data of points `from` to before `to` of the block. @returns false when the layer ended too early */
export function decodeUserData(from: u32, to: u32): bool {
  return decodeSymbols(LAYER_USER_DATA, USER_DATA, Columns.userData, from, to);
}

const INTENSITY_PLACES: usize = OWN;
const INTENSITY_CODER: usize = 40;

/** Starts the layer with the intensity of the first point. */
export function startIntensity(channel: u32, intensity: u32): void {
  spreadIntensity(start(INTENSITY, SIZE_INTENSITY, LAYER_INTENSITY, channel, intensity), intensity);
}

function spreadIntensity(context: usize, intensity: u32): void {
  for (let place: usize = 0; place < 8; ++place) store<u32>(context + 4 * place, intensity, INTENSITY_PLACES);
}

/** Decodes the intensity of points `from` to before `to` of the block. @returns false when the layer ended too early */
export function decodeIntensity(from: u32, to: u32): bool {
  const least = floor(LAYER_INTENSITY);
  let state = resume(LAYER_INTENSITY);
  let channel = load<u32>(CURRENT + 4 * LAYER_INTENSITY);
  let context = INTENSITY + SIZE_INTENSITY * channel;
  let last = load<u32>(context, LAST);
  let bits: u32 = 0;
  for (let i = from; i < to; ++i) {
    const own = <u32>load<u8>(Columns.scannerChannel + i);
    if (own !== channel) {
      channel = own;
      const next = INTENSITY + SIZE_INTENSITY * own;
      if (change(context, last, next)) spreadIntensity(next, last);
      context = next;
    }
    const pulse = <u32>load<u8>(Columns.pulse + i);
    const place = pulse & PULSE_PLACE;
    const before = context + 4 * ((place << 1) | ((pulse >> 2) & 1));
    state = passIntegerLike(state, context + INTENSITY_CODER, place, 16, bits);
    bits = Integer.bits;
    last = (load<u32>(before, INTENSITY_PLACES) + Integer.difference) & 0xffff;
    store<u32>(before, last, INTENSITY_PLACES);
    store<u16>(Columns.intensity + 2 * i, <u16>last);
    if (Stream.at < least) return false;
  }
  store<u32>(context, last, LAST);
  store<u32>(CURRENT + 4 * LAYER_INTENSITY, channel);
  suspend(LAYER_INTENSITY, state);
  return true;
}

/** The two layers of numbers that are stored only where the pulse says that they change. */
// @ts-expect-error: decorator
@inline
function decodeChanges(layer: u32, contexts: usize, column: usize, from: u32, to: u32): bool {
  const least = floor(layer);
  let state = resume(layer);
  let channel = load<u32>(CURRENT + 4 * layer);
  let context = contexts + SIZE_NUMBER * channel;
  let last = load<u32>(context, LAST);
  let bits: u32 = 0;
  for (let i = from; i < to; ++i) {
    const own = <u32>load<u8>(Columns.scannerChannel + i);
    if (own !== channel) {
      channel = own;
      const next = contexts + SIZE_NUMBER * own;
      change(context, last, next);
      context = next;
      last = load<u32>(context, LAST);
    }
    const pulse = <u32>load<u8>(Columns.pulse + i);
    if (pulse & (layer === LAYER_SCAN_ANGLE ? PULSE_NEW_ANGLE : PULSE_NEW_SOURCE)) {
      const which = layer === LAYER_SCAN_ANGLE ? (pulse >> 2) & 1 : 0;
      state = passIntegerLike(state, context + OWN, which, 16, bits);
      bits = Integer.bits;
      last += Integer.difference;
      if (Stream.at < least) return false;
    }
    store<u16>(column + 2 * i, <u16>last);
  }
  store<u32>(context, last, LAST);
  store<u32>(CURRENT + 4 * layer, channel);
  suspend(layer, state);
  return true;
}

/** Starts the layer with the scan angle of the first point. */
export function startScanAngle(channel: u32, angle: u32): void {
  start(SCAN_ANGLE, SIZE_NUMBER, LAYER_SCAN_ANGLE, channel, angle);
}

/** Decodes the scan angle of points `from` to before `to` of the block. @returns false when the layer ended too early */
export function decodeScanAngle(from: u32, to: u32): bool {
  return decodeChanges(LAYER_SCAN_ANGLE, SCAN_ANGLE, Columns.scanAngle, from, to);
}

/** Starts the layer with the point source ID of the first point. */
export function startPointSource(channel: u32, source: u32): void {
  start(POINT_SOURCE, SIZE_NUMBER, LAYER_POINT_SOURCE, channel, source);
}

/** Decodes the point source ID of points `from` to before `to` of the block. @returns false when the layer ended too early */
export function decodePointSource(from: u32, to: u32): bool {
  return decodeChanges(LAYER_POINT_SOURCE, POINT_SOURCE, Columns.pointSourceId, from, to);
}

const TIMES: usize = 8;

/** Starts the layer with the GPS time of the first point. */
export function startGpsTime(channel: u32, time: u64): void {
  startTimes(start(GPS_TIME, SIZE_TIME, LAYER_GPS_TIME, channel, 0) + TIMES, time);
}

/** Decodes the GPS time of points `from` to before `to` of the block. @returns false when the layer ended too early */
export function decodeGpsTime(from: u32, to: u32): bool {
  const least = floor(LAYER_GPS_TIME);
  let state = resume(LAYER_GPS_TIME);
  let channel = load<u32>(CURRENT + 4 * LAYER_GPS_TIME);
  let context = GPS_TIME + SIZE_TIME * channel;
  let time = currentTime(context + TIMES);
  for (let i = from; i < to; ++i) {
    const own = <u32>load<u8>(Columns.scannerChannel + i);
    if (own !== channel) {
      channel = own;
      const next = GPS_TIME + SIZE_TIME * own;
      if (change(context, 0, next)) startTimes(next + TIMES, time);
      context = next;
      time = currentTime(context + TIMES);
    }
    if (<u32>load<u8>(Columns.pulse + i) & PULSE_NEW_TIME) {
      state = passTime(state, context + TIMES, 1);
      time = currentTime(context + TIMES);
      if (Stream.at < least) return false;
    }
    store<u64>(Columns.gpsTime + 8 * i, time);
  }
  store<u32>(CURRENT + 4 * LAYER_GPS_TIME, channel);
  suspend(LAYER_GPS_TIME, state);
  return true;
}
