/**
 * Arithmetic coder, the writing side. Method: A. Said, "Introduction to Arithmetic Coding: Theory and Practice",
 * HP Labs report HPL-2004-76 (2004); constants as the LASzip specification fixes them. Written for clarity: test data only.
 */

/** The interval is kept at least this wide by writing out its leading bytes. */
const LEAST_WIDTH = 2 ** 24;
const SHARE_BITS = 15;
const COUNT_LIMIT = 2 ** 15;
const BIT_SHARE_BITS = 13;
const BIT_COUNT_LIMIT = 2 ** 13;

/** How often each symbol was seen, and its share of the interval in units of 2^-15. */
export interface SymbolModel {
  counts: Uint32Array;
  begins: Uint32Array;
  total: number;
  cycle: number;
  untilRefresh: number;
}

/** A new adaptive model of an alphabet of `symbols` symbols: each counted once. */
export function createSymbolModel(symbols: number): SymbolModel {
  const model = {
    counts: new Uint32Array(symbols).fill(1),
    begins: new Uint32Array(symbols),
    total: 0,
    cycle: symbols,
    untilRefresh: 0,
  };
  refreshSymbols(model);
  model.cycle = (symbols + 6) >> 1;
  model.untilRefresh = model.cycle;
  return model;
}

function refreshSymbols(model: SymbolModel): void {
  const { counts, begins } = model;
  model.total += model.cycle;
  if (model.total > COUNT_LIMIT) {
    model.total = 0;
    for (let i = 0; i < counts.length; i++) {
      counts[i] = (counts[i] + 1) >> 1;
      model.total += counts[i];
    }
  }
  const scale = Math.floor(2 ** 31 / model.total);
  let sum = 0;
  for (let i = 0; i < counts.length; i++) {
    begins[i] = Math.floor((scale * sum) / 2 ** 16);
    sum += counts[i];
  }
  model.cycle = Math.min((5 * model.cycle) >> 2, (counts.length + 6) * 8);
  model.untilRefresh = model.cycle;
}

/** Adaptive model of one bit. */
export interface BitModel {
  zeros: number;
  both: number;
  share: number;
  cycle: number;
  untilRefresh: number;
}

/** A new adaptive model of one bit. */
export function createBitModel(): BitModel {
  return { zeros: 1, both: 2, share: 2 ** (BIT_SHARE_BITS - 1), cycle: 4, untilRefresh: 4 };
}

function refreshBit(model: BitModel): void {
  model.both += model.cycle;
  if (model.both > BIT_COUNT_LIMIT) {
    model.both = (model.both + 1) >> 1;
    model.zeros = (model.zeros + 1) >> 1;
    if (model.zeros === model.both) model.both++;
  }
  const scale = Math.floor(2 ** 31 / model.both);
  model.share = Math.floor((model.zeros * scale) / 2 ** (31 - BIT_SHARE_BITS));
  model.cycle = Math.min((5 * model.cycle) >> 2, 64);
  model.untilRefresh = model.cycle;
}

/** Writes symbols and bits to one arithmetically coded stream. */
export interface ArithmeticEncoder {
  symbol(model: SymbolModel, symbol: number): void;
  bit(model: BitModel, bit: number): void;
  /** 1 to 32 bits without a model. */
  raw(bits: number, value: number): void;
  /** Ends the stream. @returns its bytes */
  finish(): Uint8Array;
}

/** An encoder with an empty stream. */
export function createArithmeticEncoder(): ArithmeticEncoder {
  let bytes = new Uint8Array(1024);
  let length = 0;
  let base = 0;
  let width = 2 ** 32 - 1;

  const put = (byte: number): void => {
    if (length === bytes.length) {
      const larger = new Uint8Array(2 * length);
      larger.set(bytes);
      bytes = larger;
    }
    bytes[length++] = byte;
  };

  /** Moves the interval's base up; what overflows is carried into the bytes already written. */
  const raise = (by: number): void => {
    base += by;
    if (base < 2 ** 32) return;
    base -= 2 ** 32;
    let i = length - 1;
    while (bytes[i] === 255) bytes[i--] = 0;
    bytes[i]++;
  };

  const widen = (): void => {
    while (width < LEAST_WIDTH) {
      put(base >>> 24);
      base = (base << 8) >>> 0;
      width *= 256;
    }
  };

  const raw = (bits: number, value: number): void => {
    if (bits > 19) {
      raw(16, value & 0xffff);
      raw(bits - 16, value >>> 16);
      return;
    }
    width = Math.floor(width / 2 ** bits);
    raise(value * width);
    widen();
  };

  return {
    symbol(model, symbol) {
      const unit = width >>> SHARE_BITS;
      const from = model.begins[symbol] * unit;
      // The last symbol also gets what the division by 2^15 left over.
      const to = symbol + 1 < model.begins.length ? model.begins[symbol + 1] * unit : width;
      raise(from);
      width = to - from;
      widen();
      model.counts[symbol]++;
      if (--model.untilRefresh === 0) refreshSymbols(model);
    },
    bit(model, bit) {
      const split = model.share * (width >>> BIT_SHARE_BITS);
      if (bit === 0) {
        width = split;
        model.zeros++;
      } else {
        raise(split);
        width -= split;
      }
      widen();
      if (--model.untilRefresh === 0) refreshBit(model);
    },
    raw,
    finish() {
      // One or two bytes that lie inside the interval whatever follows, then zeros, so that a reader, which is four
      // bytes ahead, ends exactly with the stream.
      const two = width <= 2 * LEAST_WIDTH;
      raise(two ? LEAST_WIDTH / 2 : LEAST_WIDTH);
      width = two ? LEAST_WIDTH / 2 ** 9 : LEAST_WIDTH / 2;
      widen();
      put(0);
      put(0);
      if (!two) put(0);
      return bytes.slice(0, length);
    },
  };
}
