/**
 * The adaptive arithmetic decoder of the LAZ format, as far as the chunk table needs it: written from the published
 * description of A. Said's FastAC coder and of LASzip's integer compressor. Points are not decoded with it.
 */

const LENGTH_MIN = 0x1000000;
const SYMBOL_SHIFT = 15;
const BIT_SHIFT = 13;

/** Reads behind the end give zeros; `overrun` counts them, so that the caller can tell damage. */
export class ArithmeticDecoder {
  overrun = 0;
  private at: number;
  private value = 0;
  private length = 0xffffffff;

  constructor(
    private readonly bytes: Uint8Array,
    begin: number,
  ) {
    this.at = begin;
    for (let i = 0; i < 4; i++) this.value = ((this.value << 8) | this.next()) >>> 0;
  }

  decodeBit(model: BitModel): number {
    const x = model.probability * (this.length >>> BIT_SHIFT);
    const bit = this.value >= x ? 1 : 0;
    if (bit === 0) {
      this.length = x;
    } else {
      this.value -= x;
      this.length -= x;
    }
    this.renormalise();
    model.count(bit);
    return bit;
  }

  decodeSymbol(model: SymbolModel): number {
    const { distribution } = model;
    let top = this.length;
    this.length >>>= SYMBOL_SHIFT;
    const unit = this.length;
    const part = Math.floor(this.value / unit);
    let low = 0;
    let high = model.symbols;
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (distribution[middle] > part) high = middle;
      else low = middle;
    }
    const x = distribution[low] * unit;
    if (low + 1 < model.symbols) top = distribution[low + 1] * unit;
    this.value -= x;
    this.length = top - x;
    this.renormalise();
    model.count(low);
    return low;
  }

  readBits(bits: number): number {
    if (bits > 19) {
      const low = this.readShort();
      return this.readBits(bits - 16) * 65536 + low;
    }
    this.length >>>= bits;
    const symbol = Math.floor(this.value / this.length);
    this.value -= this.length * symbol;
    this.renormalise();
    return symbol;
  }

  private readShort(): number {
    this.length >>>= 16;
    const symbol = Math.floor(this.value / this.length);
    this.value -= this.length * symbol;
    this.renormalise();
    return symbol;
  }

  private renormalise(): void {
    // A damaged stream can drive the interval to nothing, from which shifting never recovers.
    if (this.length <= 0) {
      this.length = 0xffffffff;
      this.overrun += 1000;
    }
    while (this.length < LENGTH_MIN) {
      this.value = ((this.value << 8) | this.next()) >>> 0;
      this.length = (this.length << 8) >>> 0;
    }
  }

  private next(): number {
    if (this.at < this.bytes.length) return this.bytes[this.at++];
    this.overrun++;
    return 0;
  }
}

/** Adaptive model of one bit. */
export class BitModel {
  probability = 1 << (BIT_SHIFT - 1);
  private zeros = 1;
  private total = 2;
  private cycle = 4;
  private left = 4;

  count(bit: number): void {
    if (bit === 0) this.zeros++;
    if (--this.left > 0) return;
    this.total += this.cycle;
    if (this.total > 1 << BIT_SHIFT) {
      this.total = (this.total + 1) >> 1;
      this.zeros = (this.zeros + 1) >> 1;
      if (this.zeros === this.total) this.total++;
    }
    const scale = Math.floor(0x80000000 / this.total);
    this.probability = (this.zeros * scale) >>> (31 - BIT_SHIFT);
    this.cycle = Math.min((5 * this.cycle) >> 2, 64);
    this.left = this.cycle;
  }
}

/** Adaptive model of a symbol out of `symbols`. */
export class SymbolModel {
  readonly distribution: Uint32Array;
  private readonly counts: Uint32Array;
  private total = 0;
  private cycle: number;
  private left = 0;

  constructor(readonly symbols: number) {
    this.distribution = new Uint32Array(symbols);
    this.counts = new Uint32Array(symbols).fill(1);
    this.cycle = symbols;
    this.update();
    this.cycle = (symbols + 6) >> 1;
    this.left = this.cycle;
  }

  count(symbol: number): void {
    this.counts[symbol]++;
    if (--this.left === 0) this.update();
  }

  private update(): void {
    const { counts, distribution, symbols } = this;
    this.total += this.cycle;
    if (this.total > 1 << SYMBOL_SHIFT) {
      this.total = 0;
      for (let i = 0; i < symbols; i++) {
        counts[i] = (counts[i] + 1) >> 1;
        this.total += counts[i];
      }
    }
    const scale = Math.floor(0x80000000 / this.total);
    let sum = 0;
    for (let i = 0; i < symbols; i++) {
      distribution[i] = (scale * sum) >>> (31 - SYMBOL_SHIFT);
      sum += counts[i];
    }
    this.cycle = Math.min((5 * this.cycle) >> 2, (symbols + 6) << 3);
    this.left = this.cycle;
  }
}

/** Integers of 32 bits, each coded as the difference from a prediction. */
export class IntegerDecoder {
  private readonly widths: SymbolModel[];
  private readonly bit = new BitModel();
  private readonly corrections: (SymbolModel | null)[] = new Array(33).fill(null);

  constructor(
    private readonly decoder: ArithmeticDecoder,
    contexts: number,
  ) {
    this.widths = Array.from({ length: contexts }, () => new SymbolModel(33));
  }

  /** The next integer, as a 32-bit unsigned number. */
  decode(predicted: number, context: number): number {
    return (predicted + this.correction(this.widths[context])) >>> 0;
  }

  private correction(widths: SymbolModel): number {
    const width = this.decoder.decodeSymbol(widths);
    if (width === 0) return this.decoder.decodeBit(this.bit);
    if (width === 32) return -2147483648;
    const HIGH = 8;
    this.corrections[width] ??= new SymbolModel(1 << Math.min(width, HIGH));
    let c = this.decoder.decodeSymbol(this.corrections[width]);
    if (width > HIGH) c = c * 2 ** (width - HIGH) + this.decoder.readBits(width - HIGH);
    return c >= 2 ** (width - 1) ? c + 1 : c - (2 ** width - 1);
  }
}
