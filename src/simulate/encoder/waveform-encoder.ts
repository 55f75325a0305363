import { type ArithmeticEncoder, createSymbolModel } from './arithmetic-encoder.js';
import { createIntegerEncoder } from './integer-encoder.js';

/** Bytes of a wave packet in a point record. */
export const WAVEFORM_BYTES = 29;

/** Writes wave packets: descriptor, offset, size, return point, direction. `last` holds the last packet's bytes. */
export function createWaveformEncoder(encoder: ArithmeticEncoder) {
  const indices = createSymbolModel(256);
  const kinds = Array.from({ length: 4 }, () => createSymbolModel(4));
  const offsets = createIntegerEncoder(encoder, 32);
  const sizes = createIntegerEncoder(encoder, 32);
  const points = createIntegerEncoder(encoder, 32);
  const directions = createIntegerEncoder(encoder, 32, 3);
  let lastKind = 0;
  let lastDifference = 0;

  return (packet: DataView, last: DataView): void => {
    encoder.symbol(indices, packet.getUint8(0));
    const offset = packet.getBigUint64(1, true);
    const difference = BigInt.asIntN(64, offset - last.getBigUint64(1, true));
    const lastSize = last.getInt32(9, true);
    let kind = 3;
    if (difference === 0n) kind = 0;
    else if (difference === BigInt(lastSize)) kind = lastSize > 0 ? 1 : 2;
    else if (BigInt.asIntN(32, difference) === difference) kind = 2;
    encoder.symbol(kinds[lastKind], kind);
    lastKind = kind;
    if (kind === 2) {
      offsets.write(lastDifference, Number(difference));
      lastDifference = Number(difference);
    } else if (kind === 3) {
      encoder.raw(32, Number(offset & 0xffffffffn));
      encoder.raw(32, Number(offset >> 32n));
    }
    const number = (writer: typeof sizes, at: number, context = 0) =>
      writer.write(last.getInt32(at, true), packet.getInt32(at, true), context);
    number(sizes, 9);
    number(points, 13);
    for (let i = 0; i < 3; i++) number(directions, 17 + 4 * i, i);
  };
}
