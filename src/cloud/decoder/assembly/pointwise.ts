import { Arena } from './arena';
import { COLOUR_SLOTS, passColour } from './colour';
import { Columns } from './columns';
import { currentTime, GPS_TIME_SIZE, passTime, startTimes } from './gps-time';
import { coderSize, Integer, passInteger, passIntegerLike } from './integer';
import { floor, forgetLayers, LAYER_EXTRA, LAYER_RETURNS_XY, LAYER_WAVEFORM, resume, setLayer, suspend } from './layers';
import { ENDED, FINE, Layout, SYMBOL, TOO_SHORT, wants } from './layout';
import { addToMedian, median, MEDIAN_SIZE } from './median';
import { modelIn } from './probability-model';
import { oldTime, passOldColour, passOldExtra, passOldPoint, passOldTime, startOldItems, startOldTime } from './pointwise-old';
import { means, pass, peek, Stream } from './stream';
import { passWaveform, WAVEFORM_BYTES, WAVEFORM_STATE } from './waveform';

/*
 * Chunks of formats 0 to 5: the first point as it is, then all others in one stream, item after item: the core of 20
 * bytes, GPS time, colour, wave packet, extra bytes.
 *
 * The state of the core item.
 */
const CHANGES: usize = 0;
const ANGLES: usize = 4;
const BITS: usize = 16;
const CLASSES: usize = 1040;
const USERS: usize = 2064;
const CODER_INTENSITY: usize = 3088;
const CODER_SOURCE: usize = 3236;
const CODER_X: usize = 3372;
const CODER_Y: usize = 3512;
const CODER_Z: usize = 3732;
const INTENSITIES: usize = 3944;
const HEIGHTS: usize = 4008;
/** What the last point was like, for guesses: changes, bits of the differences of x, y and z. */
const GUESSES: usize = 4040;
const MEDIANS_X: usize = 4048;
const MEDIANS_Y: usize = 4560;
const CORE_SIZE: usize = 5072;
const CORE = memory.data(5072, 16);

/** The last point: its core as it is stored, colour, wave packet. */
const LAST = memory.data(20, 4);
const LAST_COLOUR = memory.data(8, 8);
const LAST_WAVEFORM = memory.data(32, 4);
const TIMES = memory.data(248, 8);
const COLOURS = memory.data(28, 4);
const WAVEFORM = memory.data(584, 4);
/** Model slots of the extra bytes, and their last values. */
let extraModels: usize = 0;
let extraLast: usize = 0;

/** Kind of return, 0 to 15, by number of returns and return number, eight by eight. */
const KINDS = memory.data(64, 1);

/** Kinds of returns that share medians and intensities; the format gives meaningless combinations a kind too. */
export function preparePointwise(): void {
  for (let n: u32 = 0; n < 8; ++n) {
    for (let r: u32 = 0; r < 8; ++r) store<u8>(KINDS + 8 * n + r, <u8>kindOf(min(n, r), max(n, r)));
  }
}

function kindOf(low: u32, high: u32): u32 {
  if (low === 0) return 15 - high;
  if (high < 6) return ((high * (high - 1)) >> 1) + low - 1;
  return 15 - high + low;
}

/** Starts a chunk of `size` bytes at `chunk`. */
export function startPointwise(chunk: usize, size: u32, points: u32, wanted: u32): i32 {
  if (size < Layout.recordLength) return TOO_SHORT;
  const coded = size - Layout.recordLength;
  if (coded < 4 && points > 1) return TOO_SHORT;
  forgetLayers();
  setLayer(LAYER_RETURNS_XY, chunk + Layout.recordLength, coded, coded >= 4);

  memory.fill(CORE, 0, CORE_SIZE);
  memory.copy(LAST, chunk, 20);
  startOldItems();
  let p = chunk + 20;
  if (Layout.time) {
    startTimes(TIMES, load<u64>(p));
    startOldTime(load<u64>(p));
    store<u64>(Columns.gpsTime, load<u64>(p));
    p += 8;
  }
  if (Layout.colour) {
    memory.fill(COLOURS, 0, COLOUR_SLOTS);
    memory.copy(LAST_COLOUR, p, 6);
    putColour(0);
    p += 6;
  }
  if (Layout.waveform) {
    memory.fill(WAVEFORM, 0, WAVEFORM_STATE);
    memory.copy(LAST_WAVEFORM, p, WAVEFORM_BYTES);
    if (wants(wanted, LAYER_WAVEFORM)) memory.copy(Columns.waveform, p, WAVEFORM_BYTES);
    p += WAVEFORM_BYTES;
  }
  const extraLength = Layout.extraLength;
  extraModels = Arena.take(coderSize(extraLength));
  memory.fill(extraModels, 0, coderSize(extraLength));
  extraLast = Arena.take(extraLength);
  memory.copy(extraLast, p, extraLength);
  if (wants(wanted, LAYER_EXTRA)) memory.copy(Columns.extra, p, extraLength);
  putCore(0);
  return FINE;
}

// @ts-expect-error: decorator
@inline
function putCore(i: u32): void {
  store<i32>(Columns.x + 4 * i, load<i32>(LAST, 0));
  store<i32>(Columns.y + 4 * i, load<i32>(LAST, 4));
  store<i32>(Columns.z + 4 * i, load<i32>(LAST, 8));
  store<u16>(Columns.intensity + 2 * i, load<u16>(LAST, 12));
  const bits = <u32>load<u8>(LAST, 14);
  const class8 = <u32>load<u8>(LAST, 15);
  store<u8>(Columns.returnNumber + i, <u8>(bits & 7));
  store<u8>(Columns.returnCount + i, <u8>((bits >> 3) & 7));
  store<u8>(Columns.flags + i, <u8>((class8 >> 5) | ((bits >> 6) << 4)));
  store<u8>(Columns.classification + i, <u8>(class8 & 31));
  store<i16>(Columns.scanAngle + 2 * i, <i16>load<i8>(LAST, 16));
  store<u8>(Columns.userData + i, load<u8>(LAST, 17));
  store<u16>(Columns.pointSourceId + 2 * i, load<u16>(LAST, 18));
}

// @ts-expect-error: decorator
@inline
function putColour(i: u32): void {
  store<u16>(Columns.red + 2 * i, load<u16>(LAST_COLOUR, 0));
  store<u16>(Columns.green + 2 * i, load<u16>(LAST_COLOUR, 2));
  store<u16>(Columns.blue + 2 * i, load<u16>(LAST_COLOUR, 4));
}

/** Decodes the points from `from` to before `to` of the block. */
export function decodePointwise(from: u32, to: u32, wanted: u32): i32 {
  const least = floor(LAYER_RETURNS_XY);
  const old = Layout.version === 1;
  const time = Layout.time;
  const colour = Layout.colour;
  const waveform = Layout.waveform;
  const keepWaveform = wants(wanted, LAYER_WAVEFORM);
  const keepExtra = wants(wanted, LAYER_EXTRA);
  const extraLength = Layout.extraLength;
  let state = resume(LAYER_RETURNS_XY);
  for (let i = from; i < to; ++i) {
    state = old ? passOldPoint(state, LAST) : passPoint(state);
    putCore(i);
    if (time) {
      state = old ? passOldTime(state) : passTime(state, TIMES, 0);
      store<u64>(Columns.gpsTime + 8 * i, old ? oldTime() : currentTime(TIMES));
    }
    if (colour) {
      state = old ? passOldColour(state, LAST_COLOUR) : passColour(state, COLOURS, LAST_COLOUR);
      putColour(i);
    }
    if (waveform) {
      state = passWaveform(state, WAVEFORM, LAST_WAVEFORM);
      if (keepWaveform) memory.copy(Columns.waveform + WAVEFORM_BYTES * i, LAST_WAVEFORM, WAVEFORM_BYTES);
    }
    if (extraLength > 0) {
      state = old ? passOldExtra(state, extraModels, extraLast, extraLength) : passExtra(state, extraLength);
      if (keepExtra) memory.copy(Columns.extra + extraLength * i, extraLast, extraLength);
    }
    if (Stream.at < least) return ENDED;
  }
  suspend(LAYER_RETURNS_XY, state);
  return Stream.damage === 0 ? FINE : SYMBOL;
}

// @ts-expect-error: decorator
@inline
function passPoint(state: u64): u64 {
  const changesModel = modelIn(CORE + CHANGES, 64);
  let changes = <u32>load<u8>(CORE, GUESSES);
  if (!means(state, changesModel, changes)) changes = peek(state, changesModel);
  store<u8>(CORE, <u8>changes, GUESSES);
  state = pass(state, changesModel, changes);
  let bits = <u32>load<u8>(LAST, 14);
  if (changes & 32) {
    const model = modelIn(CORE + BITS + 4 * bits, 256);
    bits = peek(state, model);
    state = pass(state, model, bits);
    store<u8>(LAST, <u8>bits, 14);
  }
  const r = bits & 7;
  const n = (bits >> 3) & 7;
  const kind = <u32>load<u8>(KINDS + 8 * n + r);
  if (changes) {
    if (changes & 16) {
      state = passInteger(state, CORE + CODER_INTENSITY, min(kind, 3), 16);
      const intensity = load<u32>(CORE + 4 * kind, INTENSITIES) + Integer.difference;
      store<u32>(CORE + 4 * kind, intensity & 0xffff, INTENSITIES);
    }
    if (changes & 8) {
      const model = modelIn(CORE + CLASSES + 4 * <u32>load<u8>(LAST, 15), 256);
      const class8 = peek(state, model);
      state = pass(state, model, class8);
      store<u8>(LAST, <u8>class8, 15);
    }
    if (changes & 4) {
      const model = modelIn(CORE + ANGLES + 4 * ((bits >> 6) & 1), 256);
      const change = peek(state, model);
      state = pass(state, model, change);
      store<u8>(LAST, load<u8>(LAST, 16) + <u8>change, 16);
    }
    if (changes & 2) {
      const model = modelIn(CORE + USERS + 4 * <u32>load<u8>(LAST, 17), 256);
      const user = peek(state, model);
      state = pass(state, model, user);
      store<u8>(LAST, <u8>user, 17);
    }
    if (changes & 1) {
      state = passInteger(state, CORE + CODER_SOURCE, 0, 16);
      store<u16>(LAST, load<u16>(LAST, 18) + <u16>Integer.difference, 18);
    }
  }
  store<u16>(LAST, <u16>load<u32>(CORE + 4 * kind, INTENSITIES), 12);

  const single = u32(n === 1);
  const medianX = CORE + MEDIANS_X + MEDIAN_SIZE * kind;
  state = passIntegerLike(state, CORE + CODER_X, single, 32, load<u8>(CORE, GUESSES + 1));
  const bitsX = Integer.bits;
  store<u8>(CORE, <u8>bitsX, GUESSES + 1);
  const dx = median(medianX) + Integer.difference;
  addToMedian(medianX, dx);
  store<i32>(LAST, load<i32>(LAST, 0) + dx, 0);

  const medianY = CORE + MEDIANS_Y + MEDIAN_SIZE * kind;
  state = passIntegerLike(state, CORE + CODER_Y, single + (min(bitsX, 20) & ~1), 32, load<u8>(CORE, GUESSES + 2));
  const bitsY = Integer.bits;
  store<u8>(CORE, <u8>bitsY, GUESSES + 2);
  const dy = median(medianY) + Integer.difference;
  addToMedian(medianY, dy);
  store<i32>(LAST, load<i32>(LAST, 4) + dy, 4);

  const level = CORE + 4 * (max(n, r) - min(n, r));
  const zBits = min((bitsX + bitsY) >> 1, 18) & ~1;
  state = passIntegerLike(state, CORE + CODER_Z, single + zBits, 32, load<u8>(CORE, GUESSES + 3));
  store<u8>(CORE, <u8>Integer.bits, GUESSES + 3);
  const z = load<i32>(level, HEIGHTS) + Integer.difference;
  store<i32>(level, z, HEIGHTS);
  store<i32>(LAST, z, 8);
  return state;
}

function passExtra(state: u64, length: u32): u64 {
  for (let j: u32 = 0; j < length; ++j) {
    const model = modelIn(extraModels + 4 * j, 256);
    const change = peek(state, model);
    state = pass(state, model, change);
    store<u8>(extraLast + j, load<u8>(extraLast + j) + <u8>change);
  }
  return state;
}
