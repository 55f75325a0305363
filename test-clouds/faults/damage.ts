import { Random } from '../../src/simulate/scene/random.js';

/** A damaged copy of a file. */
export interface Damage {
  bytes: Uint8Array;
  /** What was done, for the message of a failing test. */
  what: string;
}

/**
 * Damages a copy of a file as transfers and disks do, drawn from the seed: bits turned, a run of bytes zeroed or
 * repeated, an end cut off, or a word of the first 600 bytes replaced by an extreme number.
 */
export function damage(sound: Uint8Array, seed: number): Damage {
  const random = new Random(seed);
  const size = sound.length;
  const kind = random.below(5);
  if (kind === 0) {
    const keep = random.below(size);
    return { bytes: sound.subarray(0, keep), what: `cut to ${keep} bytes` };
  }
  // Not slice(): on a Buffer that is a view of the same memory.
  const bytes = new Uint8Array(sound);
  const at = random.below(size);
  const run = Math.min(1 + random.below(2000), size - at);
  if (kind === 1) {
    const bit = random.below(8);
    bytes[at] ^= 1 << bit;
    return { bytes, what: `bit ${bit} of byte ${at} turned` };
  }
  if (kind === 2) {
    bytes.fill(0, at, at + run);
    return { bytes, what: `${run} bytes from ${at} zeroed` };
  }
  if (kind === 3) {
    const from = random.below(size - run + 1);
    bytes.copyWithin(at, from, from + run);
    return { bytes, what: `${run} bytes from ${from} repeated at ${at}` };
  }
  const word = random.below(Math.min(600, size - 4));
  const value = [0, 1, 0x7fffffff, 0x80000000, 0xffffffff][random.below(5)];
  new DataView(bytes.buffer).setUint32(word, value, true);
  return { bytes, what: `word at ${word} set to ${value}` };
}
