import { type ArithmeticEncoder, createSymbolModel } from './arithmetic-encoder.js';
import { createIntegerEncoder } from './integer-encoder.js';

/** Multiples of the last difference with a code of their own: 1 to 499, -1 to -9; the ends stand for all beyond. */
const MOST = 500;
const LEAST = -10;
const UNCHANGED = 511;
const NEW_SEQUENCE = 512;
const asInt32 = (difference: bigint): number | undefined =>
  BigInt.asIntN(32, difference) === difference ? Number(difference) : undefined;

/**
 * Writes GPS times, given as the bits of the f64. Four sequences are followed; each predicts by multiples of its last
 * difference. Inside layers (`changed`) unchanged times are not written at all and have no code.
 */
export function createTimeEncoder(encoder: ArithmeticEncoder, first: bigint, changed: boolean) {
  const skip = changed ? 1 : 0;
  const afterZero = createSymbolModel(6 - skip);
  const multiples = createSymbolModel(516 - skip);
  const integers = createIntegerEncoder(encoder, 32, 9);
  const times = [first, 0n, 0n, 0n];
  const differences = [0, 0, 0, 0];
  const misfits = [0, 0, 0, 0];
  let sequence = 0;
  let newest = 0;

  const zeroCode = (code: number) => encoder.symbol(afterZero, code - skip);
  const multipleCode = (code: number) => encoder.symbol(multiples, code >= UNCHANGED ? code - skip : code);

  const misfit = (difference: number): void => {
    if (++misfits[sequence] <= 3) return;
    differences[sequence] = difference;
    misfits[sequence] = 0;
  };

  const writeMultiple = (difference: number): void => {
    const last = differences[sequence];
    const ratio = Math.fround(Math.fround(difference) / Math.fround(last));
    const multiple = Math.trunc(ratio >= 0 ? ratio + 0.5 : ratio - 0.5);
    const write = (code: number, factor: number, context: number): void => {
      multipleCode(code);
      integers.write(Math.imul(factor, last), difference, context);
    };
    if (multiple === 1) {
      write(1, 1, 1);
      misfits[sequence] = 0;
    } else if (multiple === 0) {
      write(0, 0, 7);
      misfit(difference);
    } else if (multiple > 0 && multiple < MOST) {
      write(multiple, multiple, multiple < 10 ? 2 : 3);
    } else if (multiple >= MOST) {
      write(MOST, MOST, 4);
      misfit(difference);
    } else if (multiple > LEAST) {
      write(MOST - multiple, multiple, 5);
    } else {
      write(MOST - LEAST, LEAST, 6);
      misfit(difference);
    }
  };

  const write = (time: bigint): void => {
    // Layers have no code for a time as before; there it is a difference of zero, after a change of sequence.
    if (!changed && time === times[sequence]) {
      if (differences[sequence] === 0) zeroCode(0);
      else multipleCode(UNCHANGED);
      return;
    }
    const fresh = differences[sequence] === 0;
    const difference = asInt32(BigInt.asIntN(64, time - times[sequence]));
    if (difference !== undefined) {
      if (fresh) {
        zeroCode(1);
        integers.write(0, difference, 0);
        differences[sequence] = difference;
        misfits[sequence] = 0;
      } else {
        writeMultiple(difference);
      }
      times[sequence] = time;
      return;
    }
    for (let i = 1; i < 4; i++) {
      const other = (sequence + i) & 3;
      if (asInt32(BigInt.asIntN(64, time - times[other])) === undefined) continue;
      if (fresh) zeroCode(2 + i);
      else multipleCode(NEW_SEQUENCE + i);
      sequence = other;
      write(time);
      return;
    }
    if (fresh) zeroCode(2);
    else multipleCode(NEW_SEQUENCE);
    integers.write(Number(BigInt.asIntN(32, times[sequence] >> 32n)), Number(BigInt.asIntN(32, time >> 32n)), 8);
    encoder.raw(32, Number(time & 0xffffffffn));
    newest = (newest + 1) & 3;
    sequence = newest;
    times[sequence] = time;
    differences[sequence] = 0;
    misfits[sequence] = 0;
  };

  /** In a layer only called when the time differs from the last one. */
  return write;
}
