import { Arena } from './arena';
import { COLOUR_SLOTS, NIR_SLOTS, passColour, passNir } from './colour';
import { Columns } from './columns';
import {
  CODED,
  floor,
  LAYER_COLOUR,
  LAYER_EXTRA,
  LAYER_NIR,
  LAYER_WAVEFORM,
  layerUse,
  resume,
  suspend,
} from './layers';
import { modelIn } from './probability-model';
import { PULSE_CHANNEL_SHIFT } from './returns-xy';
import { pass, peek, Stream } from './stream';
import { passWaveform, WAVEFORM_BYTES, WAVEFORM_STATE } from './waveform';

/*
 * Layers of colours, waveforms and extra bytes. Their contexts differ from those of the other layers in two ways. They go by the
 * channel noted in the pulse. And in version 3 of the items, a change to a channel that was seen before takes the new
 * channel's models but the last value of the channel before, and replaces it there; only version 4 (`follow`) takes
 * the channel's own. Writers and readers do the same, so files are correct, only slightly larger.
 */

/** Address of the last value that counts for a point of channel `now` after one of channel `before`: channels' values lie `size` bytes apart. */
// @ts-expect-error: decorator
@inline
function lastValue(values: usize, size: usize, seen: u32, before: u32, now: u32, follow: bool): usize {
  if (now === before) return values + size * now;
  if (((seen >> now) & 1) === 0) {
    memory.copy(values + size * now, values + size * before, size);
    return values + size * now;
  }
  return values + size * (follow ? now : before);
}

const COLOURS = memory.data(4 * 28, 4);
const LAST_COLOURS = memory.data(4 * 8, 8);
const NIRS = memory.data(4 * 12, 4);
const LAST_NIRS = memory.data(4 * 2, 2);
const WAVEFORMS = memory.data(4 * 584, 4);
const LAST_WAVEFORMS = memory.data(4 * 32, 4);
/** Channel and set of channels seen, for colour, NIR, waveform and extra bytes. */
const CURRENT = memory.data(4 * 4, 4);
const SEEN = memory.data(4 * 4, 4);

function mark(which: usize, channel: u32): void {
  store<u32>(CURRENT + 4 * which, channel);
  store<u32>(SEEN + 4 * which, 1 << channel);
}

/** `first` is the first point's colour, three u16. */
export function startColour(channel: u32, first: usize): void {
  mark(0, channel);
  memory.fill(COLOURS, 0, 4 * COLOUR_SLOTS);
  memory.copy(LAST_COLOURS + 8 * channel, first, 6);
}

/** Decodes the colours of points `from` to before `to` of the block. @returns false when the layer ended too early */
export function decodeColour(from: u32, to: u32, follow: bool): bool {
  const least = floor(LAYER_COLOUR);
  let state = resume(LAYER_COLOUR);
  let channel = load<u32>(CURRENT);
  let seen = load<u32>(SEEN);
  for (let i = from; i < to; ++i) {
    const own = <u32>load<u8>(Columns.pulse + i) >> PULSE_CHANNEL_SHIFT;
    const last = lastValue(LAST_COLOURS, 8, seen, channel, own, follow);
    seen |= 1 << own;
    channel = own;
    state = passColour(state, COLOURS + COLOUR_SLOTS * channel, last);
    store<u16>(Columns.red + 2 * i, load<u16>(last));
    store<u16>(Columns.green + 2 * i, load<u16>(last, 2));
    store<u16>(Columns.blue + 2 * i, load<u16>(last, 4));
    if (Stream.at < least) return false;
  }
  store<u32>(CURRENT, channel);
  store<u32>(SEEN, seen);
  suspend(LAYER_COLOUR, state);
  return true;
}

/** Starts the layer with the near infrared value of the first point. */
export function startNir(channel: u32, nir: u16): void {
  mark(1, channel);
  memory.fill(NIRS, 0, 4 * NIR_SLOTS);
  store<u16>(LAST_NIRS + 2 * channel, nir);
}

/** Decodes the near infrared values of points `from` to before `to` of the block. @returns false when the layer ended too early */
export function decodeNir(from: u32, to: u32, follow: bool): bool {
  const least = floor(LAYER_NIR);
  let state = resume(LAYER_NIR);
  let channel = load<u32>(CURRENT, 4);
  let seen = load<u32>(SEEN, 4);
  for (let i = from; i < to; ++i) {
    const own = <u32>load<u8>(Columns.pulse + i) >> PULSE_CHANNEL_SHIFT;
    const last = lastValue(LAST_NIRS, 2, seen, channel, own, follow);
    seen |= 1 << own;
    channel = own;
    state = passNir(state, NIRS + NIR_SLOTS * channel, last);
    store<u16>(Columns.nir + 2 * i, load<u16>(last));
    if (Stream.at < least) return false;
  }
  store<u32>(CURRENT, channel, 4);
  store<u32>(SEEN, seen, 4);
  suspend(LAYER_NIR, state);
  return true;
}

/** `first` is the first point's wave packet. */
export function startWaveform(channel: u32, first: usize): void {
  mark(2, channel);
  memory.fill(WAVEFORMS, 0, 4 * WAVEFORM_STATE);
  memory.copy(LAST_WAVEFORMS + 32 * channel, first, WAVEFORM_BYTES);
}

/** Decodes the wave packets of points `from` to before `to` of the block. @returns false when the layer ended too early */
export function decodeWaveform(from: u32, to: u32, follow: bool): bool {
  const least = floor(LAYER_WAVEFORM);
  let state = resume(LAYER_WAVEFORM);
  let channel = load<u32>(CURRENT, 8);
  let seen = load<u32>(SEEN, 8);
  for (let i = from; i < to; ++i) {
    const own = <u32>load<u8>(Columns.pulse + i) >> PULSE_CHANNEL_SHIFT;
    const last = lastValue(LAST_WAVEFORMS, 32, seen, channel, own, follow);
    seen |= 1 << own;
    channel = own;
    state = passWaveform(state, WAVEFORMS + WAVEFORM_STATE * channel, last);
    memory.copy(Columns.waveform + WAVEFORM_BYTES * i, last, WAVEFORM_BYTES);
    if (Stream.at < least) return false;
  }
  store<u32>(CURRENT, channel, 8);
  store<u32>(SEEN, seen, 8);
  suspend(LAYER_WAVEFORM, state);
  return true;
}

/** Address of the models' slots and last values of extra bytes, eight bytes a byte and channel, and of each byte's channels. */
let extraSlots: usize = 0;
const EXTRA_BYTE: usize = 48;
const EXTRA_LAST: usize = 16;
const EXTRA_CURRENT: usize = 32;
const EXTRA_SEEN: usize = 36;

/** `first` is the first point's extra bytes. Call it after the memory for the chunk's models begins. */
export function startExtra(channel: u32, first: usize, length: u32): void {
  extraSlots = Arena.take(EXTRA_BYTE * length);
  memory.fill(extraSlots, 0, EXTRA_BYTE * length);
  for (let j: u32 = 0; j < length; ++j) {
    const extra = extraSlots + EXTRA_BYTE * j;
    store<u32>(extra + 4 * channel, load<u8>(first + j), EXTRA_LAST);
    store<u32>(extra, channel, EXTRA_CURRENT);
    store<u32>(extra, 1 << channel, EXTRA_SEEN);
  }
}

/** Decodes the extra bytes of points `from` to before `to` of the block. @returns false when the layer ended too early */
export function decodeExtra(from: u32, to: u32, length: u32, follow: bool): bool {
  for (let j: u32 = 0; j < length; ++j) {
    if (layerUse(LAYER_EXTRA + j) === CODED && !decodeExtraByte(from, to, j, length, follow)) return false;
  }
  return true;
}

function decodeExtraByte(from: u32, to: u32, j: u32, length: u32, follow: bool): bool {
  const extra = extraSlots + EXTRA_BYTE * j;
  const least = floor(LAYER_EXTRA + j);
  let state = resume(LAYER_EXTRA + j);
  let channel = load<u32>(extra, EXTRA_CURRENT);
  let seen = load<u32>(extra, EXTRA_SEEN);
  let column = Columns.extra + length * from + j;
  for (let i = from; i < to; ++i) {
    const own = <u32>load<u8>(Columns.pulse + i) >> PULSE_CHANNEL_SHIFT;
    const last = lastValue(extra + EXTRA_LAST, 4, seen, channel, own, follow);
    seen |= 1 << own;
    channel = own;
    const model = modelIn(extra + 4 * channel, 256);
    const change = peek(state, model);
    state = pass(state, model, change);
    const value = load<u32>(last) + change;
    store<u32>(last, value & 255);
    store<u8>(column, <u8>value);
    column += length;
    if (Stream.at < least) return false;
  }
  store<u32>(extra, channel, EXTRA_CURRENT);
  store<u32>(extra, seen, EXTRA_SEEN);
  suspend(LAYER_EXTRA + j, state);
  return true;
}
