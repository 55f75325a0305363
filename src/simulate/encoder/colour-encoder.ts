import { type ArithmeticEncoder, createSymbolModel } from './arithmetic-encoder.js';

const clampByte = (value: number): number => Math.max(0, Math.min(255, value));

/** Writes colours byte by byte; green and blue are predicted to change as red does. `last` is left to the caller. */
export function createColourEncoder(encoder: ArithmeticEncoder) {
  const masks = createSymbolModel(128);
  const changes = Array.from({ length: 6 }, () => createSymbolModel(256));
  /** @returns whether anything differs from the last colour */
  return (colour: readonly number[], last: readonly number[]): boolean => {
    const low = (c: readonly number[], i: number) => c[i] & 255;
    const high = (c: readonly number[], i: number) => c[i] >> 8;
    let mask = 0;
    for (let i = 0; i < 3; i++) {
      if (low(colour, i) !== low(last, i)) mask |= 1 << (2 * i);
      if (high(colour, i) !== high(last, i)) mask |= 2 << (2 * i);
    }
    const grey = colour[0] === colour[1] && colour[0] === colour[2];
    if (!grey) mask |= 64;
    encoder.symbol(masks, mask);
    const write = (which: number, byte: number, predicted: number): void => {
      if (mask & (1 << which)) encoder.symbol(changes[which], (byte - predicted) & 255);
    };
    write(0, low(colour, 0), low(last, 0));
    write(1, high(colour, 0), high(last, 0));
    if (!grey) {
      const halves = [
        { of: low, green: 2, blue: 4 },
        { of: high, green: 3, blue: 5 },
      ];
      for (const { of, green, blue } of halves) {
        const red = of(colour, 0) - of(last, 0);
        write(green, of(colour, 1), clampByte(of(last, 1) + red));
        const both = Math.trunc((red + of(colour, 1) - of(last, 1)) / 2);
        write(blue, of(colour, 2), clampByte(of(last, 2) + both));
      }
    }
    return mask !== 0;
  };
}

/** Writes near infrared, low and high byte. */
export function createNirEncoder(encoder: ArithmeticEncoder) {
  const masks = createSymbolModel(4);
  const changes = [createSymbolModel(256), createSymbolModel(256)];
  return (nir: number, last: number): boolean => {
    const low = (nir ^ last) & 0xff ? 1 : 0;
    const high = (nir ^ last) & 0xff00 ? 2 : 0;
    encoder.symbol(masks, low | high);
    if (low) encoder.symbol(changes[0], (nir - last) & 255);
    if (high) encoder.symbol(changes[1], ((nir >> 8) - (last >> 8)) & 255);
    return (low | high) !== 0;
  };
}
