import {
  type ArithmeticEncoder,
  type BitModel,
  createBitModel,
  createSymbolModel,
  type SymbolModel,
} from './arithmetic-encoder.js';

/** Writes whole numbers as differences from a prediction. */
export interface IntegerEncoder {
  /** @returns the bits of the difference's interval, which other numbers choose their context by */
  write(predicted: number, value: number, context?: number): number;
}

/** Places in an interval of more bits than this are coded by their upper bits; the lower ones follow plainly. */
const MODELLED_BITS = 8;

/** For numbers of `width` (8, 16 or 32) bits; differences wrap around at that width. */
export function createIntegerEncoder(encoder: ArithmeticEncoder, width: 8 | 16 | 32, contexts = 1): IntegerEncoder {
  const lengths = Array.from({ length: contexts }, () => createSymbolModel(width + 1));
  const places: SymbolModel[] = [];
  let zeroOrOne: BitModel | undefined;
  const shift = 32 - width;
  return {
    write(predicted, value, context = 0) {
      const difference = ((value - predicted) << shift) >> shift;
      // The interval [-(2^k - 1), 2^k] of the fewest bits k that holds the difference.
      const k = 32 - Math.clz32(difference <= 0 ? -difference : difference - 1);
      encoder.symbol(lengths[context], k);
      if (k === 0) {
        zeroOrOne ??= createBitModel();
        encoder.bit(zeroOrOne, difference);
      } else if (k < 32) {
        const place = difference < 0 ? difference + 2 ** k - 1 : difference - 1;
        places[k] ??= createSymbolModel(2 ** Math.min(k, MODELLED_BITS));
        const plain = Math.max(0, k - MODELLED_BITS);
        encoder.symbol(places[k], place >>> plain);
        if (plain > 0) encoder.raw(plain, place & (2 ** plain - 1));
      }
      return k;
    },
  };
}

/** Models made when they are first used, found by a number. */
export function modelTable(symbols: number): (key: number) => SymbolModel {
  const models = new Map<number, SymbolModel>();
  return (key) => {
    let model = models.get(key);
    if (model === undefined) {
      model = createSymbolModel(symbols);
      models.set(key, model);
    }
    return model;
  };
}
