/** Seeded random numbers, so that every run sees the same data. */
export interface Seeded {
  /** Uniform from 0 up to 1. */
  uniform(): number;
  /** Standard normal (Box-Muller). */
  normal(): number;
  integer(below: number): number;
}

/** Linear congruential steps modulo 2^64 (multiplier of Knuth's MMIX), upper 32 bits used. */
export function seeded(seed: number): Seeded {
  let state = BigInt(seed) * 0x9e3779b97f4a7c15n + 1n;
  const uniform = () => {
    state = BigInt.asUintN(64, state * 6364136223846793005n + 1442695040888963407n);
    return Number(state >> 32n) / 2 ** 32;
  };
  return {
    uniform,
    normal: () => Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform()),
    integer: (below) => Math.floor(uniform() * below),
  };
}

/** Same values in another order. */
export function shuffled<T>(values: readonly T[], random: Seeded): T[] {
  const out = [...values];
  for (let i = out.length - 1; i > 0; i--) {
    const k = random.integer(i + 1);
    [out[i], out[k]] = [out[k], out[i]];
  }
  return out;
}
