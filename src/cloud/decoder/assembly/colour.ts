import { modelIn } from './probability-model';
import { pass, peek } from './stream';

/*
 * Colours, byte by byte: which bytes differ from the last colour, then by how much; green's and blue's predictions
 * move along with red's change. `slots` are seven models: the mask of changes, then one each of red low, red high,
 * green low, green high, blue low, blue high. `last` is the last colour, three u16, and is replaced.
 */
export const COLOUR_SLOTS: usize = 28;

const GREY_DIFFERS: u32 = 64;

// @ts-expect-error: decorator
@inline
function clampByte(value: i32): i32 {
  return max(0, min(255, value));
}

/** Reads the next colour. @returns the state of the stream behind it */
export function passColour(state: u64, slots: usize, last: usize): u64 {
  const masks = modelIn(slots, 128);
  const mask = peek(state, masks);
  state = pass(state, masks, mask);
  const red = <i32>load<u16>(last);
  const green = <i32>load<u16>(last, 2);
  const blue = <i32>load<u16>(last, 4);

  let redLow = red & 255;
  let redHigh = red >> 8;
  if (mask & 1) {
    const model = modelIn(slots + 4, 256);
    const change = peek(state, model);
    state = pass(state, model, change);
    redLow = (redLow + change) & 255;
  }
  if (mask & 2) {
    const model = modelIn(slots + 8, 256);
    const change = peek(state, model);
    state = pass(state, model, change);
    redHigh = (redHigh + change) & 255;
  }
  const freshRed = (redHigh << 8) | redLow;
  store<u16>(last, <u16>freshRed);
  if ((mask & GREY_DIFFERS) === 0) {
    store<u16>(last, <u16>freshRed, 2);
    store<u16>(last, <u16>freshRed, 4);
    return state;
  }

  let greenLow = green & 255;
  let greenHigh = green >> 8;
  let blueLow = blue & 255;
  let blueHigh = blue >> 8;
  let move = redLow - (red & 255);
  if (mask & 4) {
    const model = modelIn(slots + 12, 256);
    const change = peek(state, model);
    state = pass(state, model, change);
    greenLow = (clampByte(move + greenLow) + change) & 255;
  }
  if (mask & 16) {
    const model = modelIn(slots + 20, 256);
    const change = peek(state, model);
    state = pass(state, model, change);
    move = (move + greenLow - (green & 255)) / 2;
    blueLow = (clampByte(move + blueLow) + change) & 255;
  }
  move = redHigh - (red >> 8);
  if (mask & 8) {
    const model = modelIn(slots + 16, 256);
    const change = peek(state, model);
    state = pass(state, model, change);
    greenHigh = (clampByte(move + greenHigh) + change) & 255;
  }
  if (mask & 32) {
    const model = modelIn(slots + 24, 256);
    const change = peek(state, model);
    state = pass(state, model, change);
    move = (move + greenHigh - (green >> 8)) / 2;
    blueHigh = (clampByte(move + blueHigh) + change) & 255;
  }
  store<u16>(last, <u16>((greenHigh << 8) | greenLow), 2);
  store<u16>(last, <u16>((blueHigh << 8) | blueLow), 4);
  return state;
}

/** Near infrared: mask of two changes, low byte, high byte; `last` is one u16. */
export const NIR_SLOTS: usize = 12;

/** Reads the next near infrared value. @returns the state of the stream behind it */
export function passNir(state: u64, slots: usize, last: usize): u64 {
  const masks = modelIn(slots, 4);
  const mask = peek(state, masks);
  state = pass(state, masks, mask);
  let low = <u32>load<u8>(last);
  let high = <u32>load<u8>(last, 1);
  if (mask & 1) {
    const model = modelIn(slots + 4, 256);
    const change = peek(state, model);
    state = pass(state, model, change);
    low += change;
  }
  if (mask & 2) {
    const model = modelIn(slots + 8, 256);
    const change = peek(state, model);
    state = pass(state, model, change);
    high += change;
  }
  store<u8>(last, <u8>low);
  store<u8>(last, <u8>high, 1);
  return state;
}
