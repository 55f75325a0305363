import { Integer, passInteger } from './integer';
import { modelIn } from './probability-model';
import { pass, passWord, peek, peekWide, Stream } from './stream';

/*
 * Version 1 of the pointwise items, written until about 2011. Simpler predictions: the median of the last three
 * differences, the last height, one sequence of GPS times, colours without regard to each other.
 */
const CHANGES: usize = 0;
const BITS: usize = 4;
const CLASSES: usize = 1028;
const USERS: usize = 2052;
const CODER_X: usize = 3076;
const CODER_Y: usize = 3212;
const CODER_Z: usize = 3424;
const CODER_INTENSITY: usize = 3636;
const CODER_ANGLE: usize = 3772;
const CODER_SOURCE: usize = 3912;
/** The last three differences of x and y, as a ring of three pairs, and its next place. */
const RING: usize = 4048;
const RING_PLACE: usize = 4072;
const TIME: usize = 4080;
const TIME_DIFFERENCE: usize = 4088;
const TIME_MISFITS: usize = 4092;
const TIME_AFTER_ZERO: usize = 4096;
const TIME_MULTIPLE: usize = 4100;
const CODER_TIME: usize = 4104;
const COLOUR_MASKS: usize = 4260;
const CODER_COLOUR: usize = 4264;
const SIZE: usize = 4424;
const OLD = memory.data(4424, 8);

export function startOldItems(): void {
  memory.fill(OLD, 0, SIZE);
}

// @ts-expect-error: decorator
@inline
function middle(a: i32, b: i32, c: i32): i32 {
  return max(min(a, b), min(max(a, b), c));
}

/** Reads the core item; `last` is the last one as stored and is replaced. */
export function passOldPoint(state: u64, last: usize): u64 {
  const dxBefore = middle(load<i32>(OLD, RING), load<i32>(OLD, RING + 8), load<i32>(OLD, RING + 16));
  const dyBefore = middle(load<i32>(OLD, RING + 4), load<i32>(OLD, RING + 12), load<i32>(OLD, RING + 20));
  state = passInteger(state, OLD + CODER_X, 0, 32);
  const dx = dxBefore + Integer.difference;
  let bits = Integer.bits;
  store<i32>(last, load<i32>(last, 0) + dx, 0);
  state = passInteger(state, OLD + CODER_Y, min(bits, 19), 32);
  const dy = dyBefore + Integer.difference;
  store<i32>(last, load<i32>(last, 4) + dy, 4);
  bits = (bits + Integer.bits) >> 1;
  state = passInteger(state, OLD + CODER_Z, min(bits, 19), 32);
  store<i32>(last, load<i32>(last, 8) + Integer.difference, 8);

  const place = load<u32>(OLD, RING_PLACE);
  store<i32>(OLD + 8 * place, dx, RING);
  store<i32>(OLD + 8 * place, dy, RING + 4);
  store<u32>(OLD, place === 2 ? 0 : place + 1, RING_PLACE);

  const changesModel = modelIn(OLD + CHANGES, 64);
  const changes = peek(state, changesModel);
  state = pass(state, changesModel, changes);
  if (changes & 32) {
    state = passInteger(state, OLD + CODER_INTENSITY, 0, 16);
    store<u16>(last, load<u16>(last, 12) + <u16>Integer.difference, 12);
  }
  if (changes & 16) state = passByte(state, BITS, last + 14);
  if (changes & 8) state = passByte(state, CLASSES, last + 15);
  if (changes & 4) {
    state = passInteger(state, OLD + CODER_ANGLE, u32(bits < 3), 8);
    store<u8>(last, load<u8>(last, 16) + <u8>Integer.difference, 16);
  }
  if (changes & 2) state = passByte(state, USERS, last + 17);
  if (changes & 1) {
    state = passInteger(state, OLD + CODER_SOURCE, 0, 16);
    store<u16>(last, load<u16>(last, 18) + <u16>Integer.difference, 18);
  }
  return state;
}

/** A byte whose model is chosen by the byte before. */
function passByte(state: u64, slots: usize, address: usize): u64 {
  const model = modelIn(OLD + slots + 4 * <u32>load<u8>(address), 256);
  const value = peek(state, model);
  store<u8>(address, <u8>value);
  return pass(state, model, value);
}

const MOST: i32 = 509;
const CODE_PLAIN: i32 = 510;

export function startOldTime(time: u64): void {
  store<u64>(OLD, time, TIME);
}

// @ts-expect-error: decorator
@inline
export function oldTime(): u64 {
  return load<u64>(OLD, TIME);
}

/** Alphabet of 512: 0 to 509 multiples of the last difference, 510 the time as it is, 511 as before. */
export function passOldTime(state: u64): u64 {
  const last = load<i32>(OLD, TIME_DIFFERENCE);
  if (last === 0) {
    const model = modelIn(OLD + TIME_AFTER_ZERO, 3);
    const code = peek(state, model);
    state = pass(state, model, code);
    if (code === 0) return state;
    if (code === 2) return passPlainTime(state);
    state = passInteger(state, OLD + CODER_TIME, 0, 32);
    store<i32>(OLD, Integer.difference, TIME_DIFFERENCE);
    store<i64>(OLD, load<i64>(OLD, TIME) + <i64>Integer.difference, TIME);
    return state;
  }
  const model = modelIn(OLD + TIME_MULTIPLE, 512);
  const code = <i32>peekWide(state, model);
  state = pass(state, model, code);
  if (code > CODE_PLAIN) return state;
  if (code === CODE_PLAIN) return passPlainTime(state);
  const context = code === 0 ? 2 : code === 1 ? 1 : code < 10 ? 3 : code < 50 ? 4 : 5;
  state = passInteger(state, OLD + CODER_TIME, context, 32);
  const difference = (code === 0 ? last / 4 : code * last) + Integer.difference;
  store<i64>(OLD, load<i64>(OLD, TIME) + <i64>difference, TIME);
  if (code === 1) {
    store<i32>(OLD, difference, TIME_DIFFERENCE);
    store<u32>(OLD, 0, TIME_MISFITS);
  } else if (code === 0 || code === MOST) {
    const misfits = load<u32>(OLD, TIME_MISFITS) + 1;
    if (misfits > 3) store<i32>(OLD, difference, TIME_DIFFERENCE);
    store<u32>(OLD, misfits > 3 ? 0 : misfits, TIME_MISFITS);
  }
  return state;
}

function passPlainTime(state: u64): u64 {
  state = passWord(state);
  store<u32>(OLD, Stream.word, TIME);
  state = passWord(state);
  store<u32>(OLD, Stream.word, TIME + 4);
  return state;
}

/** Six bytes, red low, red high and so on; a mask tells which change. */
export function passOldColour(state: u64, last: usize): u64 {
  const masks = modelIn(OLD + COLOUR_MASKS, 64);
  const mask = peek(state, masks);
  state = pass(state, masks, mask);
  for (let byte: u32 = 0; byte < 6; ++byte) {
    if (((mask >> byte) & 1) === 0) continue;
    state = passInteger(state, OLD + CODER_COLOUR, byte, 8);
    store<u8>(last + byte, load<u8>(last + byte) + <u8>Integer.difference);
  }
  return state;
}

export function passOldExtra(state: u64, coder: usize, last: usize, length: u32): u64 {
  for (let j: u32 = 0; j < length; ++j) {
    state = passInteger(state, coder, j, 8);
    store<u8>(last + j, load<u8>(last + j) + <u8>Integer.difference);
  }
  return state;
}
