/** What a point record holds, as the host opened it. */
export class Layout {
  static layered: bool = false;
  static time: bool = false;
  static colour: bool = false;
  static nir: bool = false;
  static waveform: bool = false;
  static extraLength: u32 = 0;
  /** Version of the items; see laz-layout.ts for which go together. */
  static version: u32 = 0;
  static recordLength: u32 = 0;
}

/** Bits of the wanted columns, which are also the layers of the same order; extra bytes as a whole are one bit. */
// @ts-expect-error: decorator
@inline
export function wants(wanted: u32, layer: u32): bool {
  return ((wanted >> layer) & 1) !== 0;
}

/** What can be wrong with a chunk; zero is fine. */
export const FINE: i32 = 0;
/** Too short for what it must hold. */
export const TOO_SHORT: i32 = -1;
/** Sizes of the layers do not add up to the size of the chunk. */
export const SIZES: i32 = -2;
/** States another number of points than the caller does. */
export const COUNT: i32 = -3;
/** A stream ended before the last point. */
export const ENDED: i32 = -4;
/** Something that no encoder writes. */
export const SYMBOL: i32 = -5;
