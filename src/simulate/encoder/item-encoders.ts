import {
  type ArithmeticEncoder,
  createArithmeticEncoder,
  createSymbolModel,
  type SymbolModel,
} from './arithmetic-encoder.js';
import { createColourEncoder, createNirEncoder } from './colour-encoder.js';
import type { RecordParts } from './record-parts.js';
import { createWaveformEncoder, WAVEFORM_BYTES } from './waveform-encoder.js';

/** Items of version 3 go by a channel in their own way; see `createItemEncoders`. */
export type LayeredVersion = 3 | 4;

/** One stream of a chunk. */
export interface Layer {
  encoder: ArithmeticEncoder;
  /** A layer in which no point differs from the first is left out. */
  changed: boolean;
}

/** An empty layer. */
export const createLayer = (): Layer => ({ encoder: createArithmeticEncoder(), changed: false });

/**
 * Colours, near infrared, wave packets and extra bytes. Version 3 of these items takes the point's channel if it
 * differs from the last point's and channel 0 if it does not; and when that changes to one in use already, it still
 * compares with the last value of the one before. Version 4 goes by the point's channel throughout.
 */
export function createItemEncoders(v: DataView, parts: RecordParts, version: LayeredVersion) {
  const layers: Layer[] = [];
  const writers: ((at: number, before: number, channel: number) => void)[] = [];
  const add = (write: (layer: Layer) => (at: number, before: number, channel: number) => void): void => {
    const layer = createLayer();
    layers.push(layer);
    writers.push(write(layer));
  };
  const rgb = (at: number) => [0, 2, 4].map((i) => v.getUint16(at + parts.colour + i, true));

  if (parts.colour >= 0) {
    add((layer) => {
      const encoders = perChannel(() => createColourEncoder(layer.encoder));
      return (at, before, channel) => {
        if (encoders(channel)(rgb(at), rgb(before))) layer.changed = true;
      };
    });
  }
  if (parts.nir >= 0) {
    add((layer) => {
      const encoders = perChannel(() => createNirEncoder(layer.encoder));
      return (at, before, channel) => {
        const nir = (a: number) => v.getUint16(a + parts.nir, true);
        if (encoders(channel)(nir(at), nir(before))) layer.changed = true;
      };
    });
  }
  if (parts.waveform >= 0) {
    add((layer) => {
      const encoders = perChannel(() => createWaveformEncoder(layer.encoder));
      const packet = (at: number) => new DataView(v.buffer, v.byteOffset + at + parts.waveform, WAVEFORM_BYTES);
      return (at, before, channel) => {
        encoders(channel)(packet(at), packet(before));
        for (let i = 0; i < WAVEFORM_BYTES; i++) {
          if (packet(at).getUint8(i) !== packet(before).getUint8(i)) layer.changed = true;
        }
      };
    });
  }
  for (let j = 0; j < parts.extraLength; j++) {
    add((layer) => {
      const models = perChannel<SymbolModel>(() => createSymbolModel(256));
      return (at, before, channel) => {
        const place = parts.extra + j;
        const change = (v.getUint8(at + place) - v.getUint8(before + place)) & 255;
        layer.encoder.symbol(models(channel), change);
        if (change !== 0) layer.changed = true;
      };
    });
  }

  /** Offset of the point that holds each channel's last values. */
  const lastAt = new Map<number, number>();
  let current = 0;
  return {
    layers,
    start(channel: number): void {
      lastAt.set(channel, 0);
      current = channel;
    },
    write(at: number, channel: number, changesChannel: boolean): void {
      const target = version === 4 || changesChannel ? channel : 0;
      const before = lastAt.get(current) as number;
      let holder = current;
      if (target !== current) {
        if (!lastAt.has(target)) {
          lastAt.set(target, before);
          holder = target;
        } else if (version === 4) {
          holder = target;
        }
        current = target;
      }
      for (const write of writers) write(at, lastAt.get(holder) as number, current);
      lastAt.set(holder, at);
    },
  };
}

function perChannel<T>(create: () => T): (channel: number) => T {
  const made: (T | undefined)[] = [];
  return (channel) => {
    made[channel] ??= create();
    return made[channel] as T;
  };
}
