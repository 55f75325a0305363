import { Arena } from './arena';

/*
 * Adaptive symbol models: how often each symbol of an alphabet was seen, turned into shares of a 15-bit scale.
 *
 * A model is an address. Above it lie the entries, four bytes a symbol: where the symbol's share begins (u16) and how
 * often it was counted (u16). Below it lie, first, a short header, and then, growing downward, a look-up table from the
 * leading bits of a target to the lowest symbol that can be meant. Both directions have fixed offsets for every size of
 * alphabet, so no address has to be looked up before a symbol is.
 */

/** Bits of the scale that shares are expressed in. */
export const SHARE_BITS: u32 = 15;
/** Counts are halved when their sum passes this. */
const COUNT_LIMIT: u32 = 1 << 15;
/** Begin of the share after the last symbol: above any target, so that a search ends there. */
export const BEYOND: u32 = 0xffff;

// Header, bytes below the model's address.
export const UNTIL: usize = 4;
const TOTAL: usize = 8;
const CYCLE: usize = 12;
const SYMBOLS: usize = 14;
export const SHIFT: usize = 16;
export const TABLE: usize = 17;
export const WIDE_TABLE: usize = 18;

/** The table is filled sixteen bytes at a time and may be overrun by that much. */
const OVERRUN: u32 = 32;
/** Alphabets above this need table entries of two bytes. */
const NARROW: u32 = 256;

const TEMPLATES = memory.data(4 * 600, 4);

/** Bits of the table's index: a finer table finds the symbol at once, a coarser one is filled faster. */
function tableBits(symbols: u32): u32 {
  if (symbols <= 4) return 4;
  if (symbols <= 16) return 6;
  if (symbols <= 64) return 7;
  return 8;
}

/** Bytes of a model below its address. */
function bytesBelow(symbols: u32): u32 {
  const entries = ((1 << tableBits(symbols)) + 2) << u32(symbols > NARROW);
  return (16 + entries + OVERRUN + 15) & ~15;
}

function bytesAbove(symbols: u32): u32 {
  return (4 * (symbols + 1) + 15) & ~15;
}

/** A fresh model: every symbol counted once. */
export function createModel(symbols: u32): usize {
  let template: usize = load<u32>(TEMPLATES + 4 * symbols);
  if (template === 0) {
    template = buildTemplate(symbols);
    store<u32>(TEMPLATES + 4 * symbols, <u32>template);
  }
  const below = bytesBelow(symbols);
  const size = below + bytesAbove(symbols);
  const block = Arena.take(size);
  memory.copy(block, template - below, size);
  return block + below;
}

/** The model a slot points to; made when it is first asked for, since most of a chunk's models never are. */
// @ts-expect-error: decorator
@inline
export function modelIn(slot: usize, symbols: u32): usize {
  const model: usize = load<u32>(slot);
  return model !== 0 ? model : fillSlot(slot, symbols);
}

function fillSlot(slot: usize, symbols: u32): usize {
  const model = createModel(symbols);
  store<u32>(slot, <u32>model);
  return model;
}

function buildTemplate(symbols: u32): usize {
  const below = bytesBelow(symbols);
  const model = Arena.keep(below + bytesAbove(symbols)) + below;
  store<u8>(model - SHIFT, <u8>(SHARE_BITS - tableBits(symbols)));
  store<u16>(model - SYMBOLS, <u16>symbols);
  store<u32>(model - TOTAL, 0);
  store<u16>(model - CYCLE, <u16>symbols);
  for (let k: u32 = 0; k < symbols; ++k) store<u16>(model + 4 * k, 1, 2);
  store<u16>(model + 4 * symbols, <u16>BEYOND);
  refresh(model);
  const first = (symbols + 6) >> 1;
  store<u16>(model - CYCLE, <u16>first);
  store<u32>(model - UNTIL, first);
  return model;
}

/** Turns the counts into shares again; due after a number of symbols that grows with the age of the model. */
export function refresh(model: usize): void {
  const symbols = <u32>load<u16>(model - SYMBOLS);
  const shift = <u32>load<u8>(model - SHIFT);
  let cycle = <u32>load<u16>(model - CYCLE);
  let total = load<u32>(model - TOTAL) + cycle;
  const end = model + 4 * symbols;
  if (total > COUNT_LIMIT) {
    total = 0;
    for (let entry = model; entry < end; entry += 4) {
      const half = (<u32>load<u16>(entry, 2) + 1) >> 1;
      store<u16>(entry, <u16>half, 2);
      total += half;
    }
  }
  store<u32>(model - TOTAL, total);
  const scale: u32 = 0x80000000 / total;
  const bin: u32 = (1 << shift) - 1;
  const size: u32 = (1 << (SHARE_BITS - shift)) + 2;
  const wide = symbols > NARROW;
  let sum = <u32>load<u16>(model, 2);
  store<u16>(model, 0);
  let filled: u32 = 0;
  let symbol: u32 = 0;
  for (let entry = model + 4; entry < end; entry += 4) {
    const begin = (scale * sum) >> 16;
    store<u16>(entry, <u16>begin);
    sum += <u32>load<u16>(entry, 2);
    const until = (begin + bin) >> shift;
    if (filled < until) {
      if (wide) fillWide(model, filled, until, symbol);
      else fillNarrow(model, filled, until, symbol);
      filled = until;
    }
    ++symbol;
  }
  if (wide) fillWide(model, filled, size, symbol);
  else fillNarrow(model, filled, size, symbol);

  cycle = (5 * cycle) >> 2;
  const slowest = (symbols + 6) << 3;
  if (cycle > slowest) cycle = slowest;
  store<u16>(model - CYCLE, <u16>cycle);
  store<u32>(model - UNTIL, cycle);
}

// @ts-expect-error: decorator
@inline
function fillNarrow(model: usize, from: u32, to: u32, symbol: u32): void {
  const pattern = i8x16.splat(<i8>symbol);
  for (let t = from; t < to; t += 16) v128.store(model - TABLE - 15 - t, pattern);
}

// @ts-expect-error: decorator
@inline
function fillWide(model: usize, from: u32, to: u32, symbol: u32): void {
  const pattern = i16x8.splat(<i16>symbol);
  for (let t = from; t < to; t += 8) v128.store(model - WIDE_TABLE - 14 - 2 * t, pattern);
}

/*
 * A model of a single bit: share of zero in 13 bits, how often zero and both were counted.
 */
const BIT_SHARE_BITS: u32 = 13;
const BIT_COUNT_LIMIT: u32 = 1 << 13;
export const BIT_MODEL_SIZE: u32 = 20;

export function createBitModel(): usize {
  const model = Arena.take(BIT_MODEL_SIZE);
  store<u32>(model, 1 << (BIT_SHARE_BITS - 1), 0);
  store<u32>(model, 4, 4);
  store<u32>(model, 1, 8);
  store<u32>(model, 2, 12);
  store<u32>(model, 4, 16);
  return model;
}

export function refreshBit(model: usize): void {
  let cycle = load<u32>(model, 16);
  let zeros = load<u32>(model, 8);
  let both = load<u32>(model, 12) + cycle;
  if (both > BIT_COUNT_LIMIT) {
    both = (both + 1) >> 1;
    zeros = (zeros + 1) >> 1;
    if (zeros === both) ++both;
  }
  const scale: u32 = 0x80000000 / both;
  store<u32>(model, (zeros * scale) >> (31 - BIT_SHARE_BITS), 0);
  store<u32>(model, zeros, 8);
  store<u32>(model, both, 12);
  cycle = (5 * cycle) >> 2;
  if (cycle > 64) cycle = 64;
  store<u32>(model, cycle, 16);
  store<u32>(model, cycle, 4);
}
