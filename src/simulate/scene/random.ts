/**
 * Seeded random numbers: small fast counting generator on four 32-bit words, integer arithmetic only, so that a seed gives
 * the same stream on every machine.
 */
export class Random {
  private a: number;
  private b: number;
  private c: number;
  private counter = 1;
  private spare = 0;
  private hasSpare = false;

  constructor(seed: number) {
    this.a = scramble(seed);
    this.b = scramble(seed + 0x9e3779b9);
    this.c = scramble(seed + 0x3c6ef372);
    for (let k = 0; k < 12; k++) this.word();
  }

  /** 32 random bits as a signed integer. */
  word(): number {
    const sum = (((this.a + this.b) | 0) + this.counter) | 0;
    this.counter = (this.counter + 1) | 0;
    this.a = this.b ^ (this.b >>> 9);
    this.b = (this.c + (this.c << 3)) | 0;
    this.c = ((((this.c << 21) | (this.c >>> 11)) >>> 0) + sum) | 0;
    return sum;
  }

  /** Uniform in [0, 1), steps of 2^-32. */
  uniform(): number {
    return (this.word() >>> 0) / 4294967296;
  }

  /** Uniform in [low, high). */
  between(low: number, high: number): number {
    return low + (high - low) * this.uniform();
  }

  /** Whole number in [0, count). */
  below(count: number): number {
    return Math.floor(this.uniform() * count);
  }

  /** Standard normal deviate, polar method. */
  normal(): number {
    if (this.hasSpare) {
      this.hasSpare = false;
      return this.spare;
    }
    for (;;) {
      const u = this.word() / 2147483648;
      const v = this.word() / 2147483648;
      const square = u * u + v * v;
      if (square > 0 && square < 1) {
        const factor = Math.sqrt((-2 * Math.log(square)) / square);
        this.spare = v * factor;
        this.hasSpare = true;
        return u * factor;
      }
    }
  }
}

/** A well mixed 32-bit word from any whole number. */
function scramble(value: number): number {
  let h = (value ^ Math.floor(value / 4294967296)) | 0;
  h = Math.imul(h ^ (h >>> 16), 0x21f0aaad);
  h = Math.imul(h ^ (h >>> 15), 0x735a2d97);
  return (h ^ (h >>> 15)) | 0;
}

/** Uniform in [0, 1) from a seed and a whole number: a table of random numbers that is never stored. */
export function hashed(seed: number, index: number): number {
  return (scramble(scramble(seed) + Math.imul(index, 0x9e3779b1)) >>> 0) / 4294967296;
}
