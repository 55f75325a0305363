import { Integer, passInteger } from './integer';
import { modelIn } from './probability-model';
import { means, pass, passWord, peek, peekWide, Stream } from './stream';

/*
 * GPS times as whole 64-bit numbers, the bits of the f64. Up to four sequences are followed side by side (several
 * scanners in one file); each has its last time, its last difference, and how often in a row that one did not fit.
 *
 * An address: four times, four differences, four counts of misfits, the sequence in use, the one made last, then the
 * models.
 */
const DIFFERENCES: usize = 32;
const MISFITS: usize = 48;
const SEQUENCE: usize = 64;
const NEWEST: usize = 68;
const MODEL_AFTER_ZERO: usize = 72;
const MODEL_MULTIPLE: usize = 76;
const CODER: usize = 80;
/** Contexts of the coder of differences. */
const CONTEXTS: u32 = 9;
export const GPS_TIME_SIZE: usize = 80 + 4 * (33 + 9);

/** Multiples of the last difference up to this have a code of their own. */
const MOST: i32 = 500;
/** So have negative ones down to this. */
const LEAST: i32 = -10;
const CODE_UNCHANGED: i32 = 511;
const CODE_NEW: i32 = 512;
/** An encoder changes the sequence at most once a point. */
const MOST_CHANGES: u32 = 4;

export function startTimes(g: usize, time: u64): void {
  memory.fill(g, 0, GPS_TIME_SIZE);
  store<u64>(g, time);
}

/** The time decoded last. */
// @ts-expect-error: decorator
@inline
export function currentTime(g: usize): u64 {
  return load<u64>(g + 8 * load<u32>(g, SEQUENCE));
}

/**
 * Reads the next time. Pointwise streams have codes for "as before"; layers (`changed`) have not, since there the
 * returns layer tells.
 */
export function passTime(state: u64, g: usize, changed: u32): u64 {
  for (let changes: u32 = 0; changes <= MOST_CHANGES; ++changes) {
    const sequence = load<u32>(g, SEQUENCE);
    const own = g + 4 * sequence;
    const last = load<i32>(own, DIFFERENCES);
    if (last === 0) {
      const model = modelIn(g + MODEL_AFTER_ZERO, 6 - changed);
      const symbol = peek(state, model);
      state = pass(state, model, symbol);
      const code = symbol + changed;
      if (code === 0) return state;
      if (code === 1) {
        state = passInteger(state, g + CODER, 0, 32);
        store<i32>(own, Integer.difference, DIFFERENCES);
        store<u32>(own, 0, MISFITS);
        addToTime(g + 8 * sequence, Integer.difference);
        return state;
      }
      if (code === 2) return passNewTime(state, g, sequence);
      store<u32>(g, (sequence + code - 2) & 3, SEQUENCE);
    } else {
      const model = modelIn(g + MODEL_MULTIPLE, 516 - changed);
      let symbol: u32 = 1;
      if (!means(state, model, symbol)) symbol = peekWide(state, model);
      state = pass(state, model, symbol);
      let code = <i32>symbol;
      if (changed && code >= CODE_UNCHANGED) ++code;
      if (code === CODE_UNCHANGED) return state;
      if (code === CODE_NEW) return passNewTime(state, g, sequence);
      if (code < CODE_UNCHANGED) return passMultiple(state, g, sequence, last, code);
      store<u32>(g, (sequence + code - CODE_NEW) & 3, SEQUENCE);
    }
  }
  Stream.damage |= 1;
  return state;
}

// @ts-expect-error: decorator
@inline
function addToTime(address: usize, difference: i32): void {
  store<i64>(address, load<i64>(address) + <i64>difference);
}

/** A difference near a multiple of the last one. */
// @ts-expect-error: decorator
@inline
function passMultiple(state: u64, g: usize, sequence: u32, last: i32, code: i32): u64 {
  // Code 0 stands for "near zero", codes past the largest multiple for -1, -2 and so on.
  const multiple = code <= MOST ? code : MOST - code;
  let context: u32 = 7;
  if (code === 1) context = 1;
  else if (code === 0) context = 7;
  else if (code < 10) context = 2;
  else if (code < MOST) context = 3;
  else if (code === MOST) context = 4;
  else if (multiple > LEAST) context = 5;
  else context = 6;
  state = passInteger(state, g + CODER, context, 32);
  const difference = multiple * last + Integer.difference;
  addToTime(g + 8 * sequence, difference);
  const own = g + 4 * sequence;
  if (code === 1) {
    store<u32>(own, 0, MISFITS);
  } else if (code === 0 || code === MOST || multiple === LEAST) {
    const misfits = load<u32>(own, MISFITS) + 1;
    if (misfits > 3) store<i32>(own, difference, DIFFERENCES);
    store<u32>(own, misfits > 3 ? 0 : misfits, MISFITS);
  }
  return state;
}

/** A time unlike those of any sequence: begins a new one, in place of the oldest. */
function passNewTime(state: u64, g: usize, sequence: u32): u64 {
  const newest = (load<u32>(g, NEWEST) + 1) & 3;
  const upper = load<i32>(g + 8 * sequence, 4);
  state = passInteger(state, g + CODER, 8, 32);
  const high = upper + Integer.difference;
  state = passWord(state);
  store<u64>(g + 8 * newest, (<u64><u32>high << 32) | <u64>Stream.word);
  store<u32>(g, newest, NEWEST);
  store<u32>(g, newest, SEQUENCE);
  store<i32>(g + 4 * newest, 0, DIFFERENCES);
  store<u32>(g + 4 * newest, 0, MISFITS);
  return state;
}
