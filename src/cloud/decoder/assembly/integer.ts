import { createBitModel, modelIn } from './probability-model';
import { means, pass, passBit, passRaw, peek, peekBit, peekRaw } from './stream';

/*
 * Whole numbers as differences from a prediction. A difference d is coded as the number of bits k of the interval
 * [-(2^k - 1), 2^k] it falls into, then as its place within: with a model up to eight bits, the bits beyond plainly.
 *
 * A coder is an address: slots of the models of the places, one for every k from 0 to 32, then slots of the models of
 * k, one for every context.
 */
const PLACES: usize = 4 * 33;
/** Most bits that are coded with a model; the lower ones of a longer place follow plainly. */
const MODELLED_BITS: u32 = 8;

/** Bytes of a coder with so many contexts. */
// @ts-expect-error: decorator
@inline
export function coderSize(contexts: u32): usize {
  return PLACES + 4 * contexts;
}

/** What was decoded last; read at once, before the next number. */
export class Integer {
  /** The difference from the prediction. */
  static difference: i32 = 0;
  /** Its number of bits, k. */
  static bits: u32 = 0;
}

/** Reads the difference of a number of `width` (8, 16 or 32) bits into `Integer`. */
// @ts-expect-error: decorator
@inline
export function passInteger(state: u64, coder: usize, context: u32, width: u32): u64 {
  const lengths = modelIn(coder + PLACES + 4 * context, width + 1);
  return passPlace(state, coder, lengths, peek(state, lengths));
}

/** The same for numbers that often have as many bits as the last of their kind, which is `bits`. */
// @ts-expect-error: decorator
@inline
export function passIntegerLike(state: u64, coder: usize, context: u32, width: u32, bits: u32): u64 {
  const lengths = modelIn(coder + PLACES + 4 * context, width + 1);
  if (!means(state, lengths, bits)) bits = peek(state, lengths);
  return passPlace(state, coder, lengths, bits);
}

// @ts-expect-error: decorator
@inline
function passPlace(state: u64, coder: usize, lengths: usize, k: u32): u64 {
  state = pass(state, lengths, k);
  Integer.bits = k;
  if (k === 0) {
    const model = bitModelIn(coder);
    const bit = peekBit(state, model);
    state = passBit(state, model, bit);
    Integer.difference = <i32>bit;
  } else if (k < 32) {
    const places = modelIn(coder + 4 * k, 1 << min(k, MODELLED_BITS));
    let place = peek(state, places);
    state = pass(state, places, place);
    if (k > MODELLED_BITS) {
      const plain = k - MODELLED_BITS;
      place <<= plain;
      if (plain > 16 + 3) {
        const lower = peekRaw(state, 16);
        state = passRaw(state, 16, lower);
        place |= lower;
        const upper = peekRaw(state, plain - 16);
        state = passRaw(state, plain - 16, upper);
        place |= upper << 16;
      } else {
        const lower = peekRaw(state, plain);
        state = passRaw(state, plain, lower);
        place |= lower;
      }
    }
    Integer.difference = place + select<i32>(1, 1 - (1 << k), <u32>place >= <u32>1 << (k - 1));
  } else {
    Integer.difference = i32.MIN_VALUE;
  }
  return state;
}

// @ts-expect-error: decorator
@inline
function bitModelIn(slot: usize): usize {
  const model: usize = load<u32>(slot);
  return model !== 0 ? model : fillBitSlot(slot);
}

function fillBitSlot(slot: usize): usize {
  const model = createBitModel();
  store<u32>(slot, <u32>model);
  return model;
}
