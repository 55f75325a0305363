import { recordParts } from '../../src/simulate/encoder/record-parts.js';
import { RECORD_LENGTHS } from './las-points.js';

/** How wild the points are. */
export interface Wildness {
  /** Chance that an attribute changes at all from one point to the next. */
  change: number;
  /** Chance that a change is a jump to anywhere. */
  jump: number;
  /** Scanner channels in use, of 0 to 3. */
  channels: readonly number[];
  /** Most returns a pulse. */
  returns: number;
}

/** A small generator of even numbers in [0, 1) (mulberry32, public domain, from memory). */
export function seeded(seed: number): () => number {
  let state = seed | 0;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 2 ** 32;
  };
}

/**
 * Point records of a format that jump, wrap around and contradict themselves as files may: any return number with any
 * number of returns, times of several sequences, differences over the whole range of an integer.
 */
export function randomRecords(
  format: number,
  extraLength: number,
  count: number,
  seed: number,
  wild: Wildness,
): Uint8Array {
  const random = seeded(seed);
  const whole = (below: number) => Math.floor(random() * below);
  const recordLength = RECORD_LENGTHS[format] + extraLength;
  const parts = recordParts(format, recordLength);
  const records = new Uint8Array(count * recordLength);
  const v = new DataView(records.buffer);
  const times = [4.21e8, 4.21e8 + 3600, 1.5e5, -7.25, 1e-300].map((t) => t + random());
  const changes = () => random() < wild.change;

  for (let i = 0; i < count; i++) {
    const at = i * recordLength;
    if (i > 0) records.copyWithin(at, at - recordLength, at);
    const step = (place: number, reach: number): void => {
      if (!changes()) return;
      const jump = random() < wild.jump;
      v.setInt32(
        at + place,
        jump ? whole(2 ** 32) - 2 ** 31 : v.getInt32(at + place, true) + whole(reach) - (reach >> 1),
        true,
      );
    };
    const byte = (place: number, spread = 256): void => {
      if (changes()) v.setUint8(at + place, random() < wild.jump ? whole(256) : whole(spread));
    };
    const word = (place: number, spread = 300): void => {
      if (changes()) {
        const jump = random() < wild.jump;
        v.setUint16(
          at + place,
          jump ? whole(65536) : v.getUint16(at + place, true) + whole(spread) - (spread >> 1),
          true,
        );
      }
    };
    const reach = 2 ** (1 + whole(20));
    step(0, reach);
    step(4, reach);
    step(8, 500);
    word(12);
    const bits = parts.layered ? 4 : 3;
    const most = Math.min(wild.returns, 2 ** bits - 1);
    if (changes()) {
      const n = random() < wild.jump ? whole(2 ** bits) : 1 + whole(most);
      const r = random() < wild.jump ? whole(2 ** bits) : 1 + whole(n);
      const rest = parts.layered ? 0 : whole(4) << 6;
      v.setUint8(at + 14, (r & (2 ** bits - 1)) | (n << bits) | rest);
    }
    if (parts.layered) {
      const channel = wild.channels[whole(wild.channels.length)];
      const flags = changes() ? whole(256) : v.getUint8(at + 15);
      v.setUint8(at + 15, (flags & ~0x30) | (channel << 4));
      byte(16, 20);
      byte(17, 8);
      word(18, 40);
      word(20, 2);
    } else {
      byte(15, 12);
      byte(16, 30);
      byte(17, 8);
      word(18, 2);
    }
    if (parts.time >= 0 && changes()) {
      const which = whole(random() < wild.jump ? times.length : 2);
      times[which] += random() < wild.jump ? 1e6 * (random() - 0.5) : whole(600) * 1e-6;
      if (random() < wild.jump) v.setBigUint64(at + parts.time, BigInt(whole(2 ** 32)) << BigInt(whole(32)), true);
      else v.setFloat64(at + parts.time, times[which], true);
    }
    if (parts.colour >= 0) {
      const grey = random() < 0.2;
      for (let k = 0; k < 6; k += 2) {
        word(parts.colour + k);
        if (grey) v.setUint16(at + parts.colour + k, v.getUint16(at + parts.colour, true), true);
      }
    }
    if (parts.nir >= 0) word(parts.nir);
    if (parts.waveform >= 0) {
      const w = parts.waveform;
      byte(w, 3);
      if (changes()) {
        const jump = random() < wild.jump;
        const offset = jump ? BigInt(whole(2 ** 32)) * BigInt(whole(2 ** 20)) : v.getBigUint64(at + w + 1, true);
        const size = BigInt(random() < 0.5 ? v.getUint32(at + w + 9, true) : whole(1000));
        v.setBigUint64(at + w + 1, BigInt.asUintN(64, offset + size), true);
      }
      step(w + 9, 64);
      for (let k = 13; k < 29; k += 4) step(w + k, 10_000);
    }
    for (let j = 0; j < extraLength; j++) byte(parts.extra + j, 10);
  }
  return records;
}
