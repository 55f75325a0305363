// Seeded random numbers of the proof: xoshiro128** (D. Blackman and S. Vigna, "Scrambled linear pseudorandom number
// generators", 2018; constants from memory), seeded by mixing the seed with the golden ratio.

/** A generator: `uniform()` in [0, 1), `between(a, b)`, `normal()`, `whole(n)` in 0 to n - 1, `student(k)`, `pick(list)`. */
export function randomFrom(seed) {
  const state = new Uint32Array(4);
  let mix = (seed * 2_654_435_769) >>> 0;
  for (let i = 0; i < 4; i++) {
    mix = (mix + 0x9e3779b9) >>> 0;
    let word = mix;
    word = Math.imul(word ^ (word >>> 16), 0x85ebca6b);
    word = Math.imul(word ^ (word >>> 13), 0xc2b2ae35);
    state[i] = word ^ (word >>> 16);
  }
  const rotate = (x, k) => ((x << k) | (x >>> (32 - k))) >>> 0;
  const word = () => {
    const result = Math.imul(rotate(Math.imul(state[1], 5) >>> 0, 7), 9) >>> 0;
    const shifted = (state[1] << 9) >>> 0;
    state[2] ^= state[0];
    state[3] ^= state[1];
    state[1] ^= state[2];
    state[0] ^= state[3];
    state[2] ^= shifted;
    state[3] = rotate(state[3], 11);
    return result;
  };
  const uniform = () => (word() + 0.5) / 4_294_967_296;
  let spare = null;
  // The polar method gives two normal numbers at a time.
  const normal = () => {
    if (spare !== null) {
      const kept = spare;
      spare = null;
      return kept;
    }
    for (;;) {
      const a = 2 * uniform() - 1;
      const b = 2 * uniform() - 1;
      const square = a * a + b * b;
      if (square >= 1 || square === 0) continue;
      const factor = Math.sqrt((-2 * Math.log(square)) / square);
      spare = b * factor;
      return a * factor;
    }
  };
  const student = (degrees) => {
    let sum = 0;
    for (let i = 0; i < degrees; i++) sum += normal() ** 2;
    return normal() / Math.sqrt(sum / degrees);
  };
  return {
    uniform,
    normal,
    student,
    between: (low, high) => low + (high - low) * uniform(),
    whole: (count) => Math.floor(uniform() * count),
    pick: (list) => list[Math.floor(uniform() * list.length)],
  };
}
