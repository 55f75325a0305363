import { BEYOND, refresh, refreshBit, SHIFT, TABLE, UNTIL, WIDE_TABLE } from './probability-model';

/*
 * Reading one arithmetically coded stream. The coder (A. Said, "Introduction to Arithmetic Coding", HPL-2004-76) keeps
 * an interval, of which a reader knows the width and how far its code lies inside.
 *
 * Both numbers are passed as one u64, width in the upper half, offset in the lower, so that they stay in a
 * processor register from symbol to symbol. Widths are brought back to 24 bits or more by shifting in bytes of the stream; as
 * the offset is smaller than the width, shifting the pair as a whole keeps the halves apart.
 *
 * The bytes of a stream are turned round before it is read: then the next bytes, most significant first, are one plain
 * little-endian load below `Stream.at`.
 */
export class Stream {
  /** The unread bytes of the stream lie below this address. */
  static at: usize = 0;
  /** Not zero when something was read that no encoder writes. */
  static damage: u32 = 0;
  /** What `passWord` read. */
  static word: u32 = 0;
}

/** First state of the stream whose turned-round bytes end at `end`. */
// @ts-expect-error: decorator
@inline
export function begin(end: usize): u64 {
  Stream.at = end - 4;
  return 0xffffffff00000000 | <u64>load<u32>(end - 4);
}

/** Shifts in as many bytes as the width lacks. */
// @ts-expect-error: decorator
@inline
function widen(state: u64): u64 {
  const bits = clz<u64>(state) & 0x38;
  const at = Stream.at;
  const bytes = <u64>load<u32>(at - 4);
  Stream.at = at - <usize>(bits >> 3);
  return (state << bits) | ((bytes << bits) >> 32);
}

/** The symbol that the stream means next. */
// @ts-expect-error: decorator
@inline
export function peek(state: u64, model: usize): u32 {
  const target = <u32>state / <u32>(state >> 47);
  let symbol = <u32>load<u8>(model - TABLE - (target >> <u32>load<u8>(model - SHIFT)));
  while (<u32>load<u16>(model + (symbol << 2), 4) <= target) ++symbol;
  return symbol;
}

/** `peek` for alphabets of more than 256 symbols. */
// @ts-expect-error: decorator
@inline
export function peekWide(state: u64, model: usize): u32 {
  const target = <u32>state / <u32>(state >> 47);
  let symbol = <u32>load<u16>(model - WIDE_TABLE - 2 * (target >> <u32>load<u8>(model - SHIFT)));
  while (<u32>load<u16>(model + (symbol << 2), 4) <= target) ++symbol;
  return symbol;
}

/**
 * Whether the stream means this very symbol. Where that is likely, asking first saves the division and the look-ups of
 * `peek`: the processor goes on with the guess before it is proven.
 */
// @ts-expect-error: decorator
@inline
export function means(state: u64, model: usize, guess: u32): bool {
  const unit = state >> 47;
  const begin = <u64>load<u16>(model + (guess << 2));
  const end = <u64>load<u16>(model + (guess << 2), 4);
  return (state & 0xffffffff) - unit * begin < unit * (end - begin);
}

/** The state behind the symbol that `peek` found; counts it. */
// @ts-expect-error: decorator
@inline
export function pass(state: u64, model: usize, symbol: u32): u64 {
  const entry = model + (symbol << 2);
  const unit = <u32>(state >> 47);
  const from = unit * <u32>load<u16>(entry);
  const next = <u32>load<u16>(entry, 4);
  const to = select<u32>(<u32>(state >> 32), unit * next, next === BEYOND);
  store<u16>(entry, load<u16>(entry, 2) + 1, 2);
  const until = load<u32>(model - UNTIL) - 1;
  store<u32>(model - UNTIL, until);
  if (until === 0) refresh(model);
  return widen((<u64>(to - from) << 32) | <u64>(<u32>state - from));
}

/** The bit that the stream means next. */
// @ts-expect-error: decorator
@inline
export function peekBit(state: u64, model: usize): u32 {
  return u32(<u32>state >= load<u32>(model) * <u32>(state >> 45));
}

// @ts-expect-error: decorator
@inline
export function passBit(state: u64, model: usize, bit: u32): u64 {
  const split = load<u32>(model) * <u32>(state >> 45);
  store<u32>(model, load<u32>(model, 8) + 1 - bit, 8);
  const until = load<u32>(model, 4) - 1;
  store<u32>(model, until, 4);
  if (until === 0) refreshBit(model);
  const width = select<u32>(<u32>(state >> 32) - split, split, bit);
  return widen((<u64>width << 32) | <u64>(<u32>state - select<u32>(split, 0, bit)));
}

/** The next 1 to 19 bits, stored without a model. Only a damaged stream means more than fits. */
// @ts-expect-error: decorator
@inline
export function peekRaw(state: u64, bits: u32): u32 {
  return <u32>state / <u32>(state >> <u64>(32 + bits));
}

// @ts-expect-error: decorator
@inline
export function passRaw(state: u64, bits: u32, raw: u32): u64 {
  const unit = <u32>(state >> <u64>(32 + bits));
  Stream.damage |= raw >> bits;
  return widen((<u64>unit << 32) | <u64>(<u32>state - unit * raw));
}

/** 32 bits stored without a model, lower half first; what they mean is left in `Stream.word`. */
export function passWord(state: u64): u64 {
  const lower = peekRaw(state, 16);
  state = passRaw(state, 16, lower);
  const upper = peekRaw(state, 16);
  Stream.word = (upper << 16) | (lower & 0xffff);
  return passRaw(state, 16, upper);
}
