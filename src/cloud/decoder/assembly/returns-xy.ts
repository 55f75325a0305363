import { Columns } from './columns';
import { Integer, passIntegerLike } from './integer';
import { floor, LAYER_RETURNS_XY, resume, suspend } from './layers';
import { addToMedian, median, MEDIAN_SIZE } from './median';
import { modelIn } from './probability-model';
import { means, pass, peek, Stream } from './stream';

/*
 * The layer that all others depend on: scanner channel, what changes, returns, x and y. Each scanner channel has models
 * and last values of its own; a channel seen for the first time takes over the last point of the channel before.
 *
 * For the other layers two bytes a point are left behind.
 *   pulse:  bit 0 last return, bit 1 first return, bit 2 new GPS time, bit 3 new scan angle, bit 4 new point source,
 *           bits 6 and 7 the channel that colours, waveforms and extra bytes go by
 *   height: bits 0 to 4 context of the height's difference, bits 5 to 7 returns between this one and the last
 */
export const PULSE_PLACE: u32 = 3;
export const PULSE_SINGLE: u32 = 3;
export const PULSE_NEW_TIME: u32 = 4;
export const PULSE_NEW_ANGLE: u32 = 8;
export const PULSE_NEW_SOURCE: u32 = 16;
export const PULSE_CHANNEL_SHIFT: u32 = 6;
export const HEIGHT_CONTEXT: u32 = 31;
export const HEIGHT_LEVEL_SHIFT: u32 = 5;

// A context, one a scanner channel.
const CHANGES: usize = 0;
const CHANNEL: usize = 32;
const SAME_PULSE: usize = 36;
const COUNT: usize = 40;
const NUMBER: usize = 104;
const CODER_X: usize = 168;
const CODER_Y: usize = 308;
const MEDIANS_X: usize = 528;
const MEDIANS_Y: usize = 912;
const LAST_X: usize = 1296;
const LAST_Y: usize = 1300;
const LAST_COUNT: usize = 1304;
const LAST_NUMBER: usize = 1308;
const LAST_NEW_TIME: usize = 1312;
const USED: usize = 1316;
const SIZE: usize = 1328;
const CONTEXTS = memory.data(4 * 1328, 16);
/** The channel of the last point. */
const CURRENT = memory.data(4, 4);

/** Kind of return, 0 to 5, by number of returns and return number. */
const KINDS = memory.data(256, 1);

/**
 * Kinds of returns that share a median: 0 single, 1 and 2 of two, 3 first, 4 between, 5 last; the format gives
 * meaningless combinations (a return number of zero or above the count) a kind too.
 */
export function prepareKinds(): void {
  for (let n: u32 = 0; n < 16; ++n) {
    for (let r: u32 = 0; r < 16; ++r) store<u8>(KINDS + 16 * n + r, <u8>kindOf(min(n, r), max(n, r)));
  }
}

function kindOf(low: u32, high: u32): u32 {
  if (low === 0) return high < 6 ? high : high === 6 ? 3 : high < 9 ? 4 : 5;
  if (low === high) return low === 1 ? 0 : low === 2 ? 2 : 5;
  if (low === 1) return high === 2 ? 1 : 3;
  if (low === 2) return high < 11 ? 4 : 3;
  return low >= 11 && high === low + 1 ? 5 : 4;
}

/** Starts a chunk from its first point. */
export function startReturnsXy(channel: u32, x: i32, y: i32, count: u32, number: u32): void {
  memory.fill(CONTEXTS, 0, 4 * SIZE);
  store<u32>(CURRENT, channel);
  const context = CONTEXTS + SIZE * channel;
  store<i32>(context, x, LAST_X);
  store<i32>(context, y, LAST_Y);
  store<u32>(context, count, LAST_COUNT);
  store<u32>(context, number, LAST_NUMBER);
  store<u32>(context, 1, USED);
}

/**
 * Decodes the points from `from` to before `to` of the block. `follow` tells how colours, waveforms and extra bytes find
 * their context: by the point's channel (version 4 of the items), or, as version 3 does it, by the channel if it
 * differs from the last point's and by channel 0 if not.
 * @returns false when the layer ended too early.
 */
export function decodeReturnsXy(from: u32, to: u32, follow: bool): bool {
  const least = floor(LAYER_RETURNS_XY);
  let state = resume(LAYER_RETURNS_XY);
  let channel = load<u32>(CURRENT);
  let context = CONTEXTS + SIZE * channel;
  let x = load<i32>(context, LAST_X);
  let y = load<i32>(context, LAST_Y);
  let n = load<u32>(context, LAST_COUNT);
  let r = load<u32>(context, LAST_NUMBER);
  let newTime = load<u32>(context, LAST_NEW_TIME);

  let changes: u32 = 0;
  let bitsX: u32 = 0;
  let bitsY: u32 = 0;
  for (let i = from; i < to; ++i) {
    const place = u32(r === 1) + (u32(r >= n) << 1) + (newTime << 2);
    const changesModel = modelIn(context + CHANGES + 4 * place, 128);
    if (!means(state, changesModel, changes)) changes = peek(state, changesModel);
    state = pass(state, changesModel, changes);
    let auxiliary = follow ? channel : 0;

    if (changes & 64) {
      const channelModel = modelIn(context + CHANNEL, 3);
      const step = peek(state, channelModel);
      state = pass(state, channelModel, step);
      store<i32>(context, x, LAST_X);
      store<i32>(context, y, LAST_Y);
      store<u32>(context, n, LAST_COUNT);
      store<u32>(context, r, LAST_NUMBER);
      store<u32>(context, newTime, LAST_NEW_TIME);
      channel = (channel + step + 1) & 3;
      auxiliary = channel;
      context = CONTEXTS + SIZE * channel;
      if (load<u32>(context, USED) === 0) {
        store<u32>(context, 1, USED);
        newTime = 0;
      } else {
        x = load<i32>(context, LAST_X);
        y = load<i32>(context, LAST_Y);
        n = load<u32>(context, LAST_COUNT);
        r = load<u32>(context, LAST_NUMBER);
      }
    }

    newTime = (changes >> 4) & 1;
    if (changes & 4) {
      const model = modelIn(context + COUNT + 4 * n, 16);
      n = peek(state, model);
      state = pass(state, model, n);
    }
    const step = changes & 3;
    if (step === 3) {
      if (newTime) {
        const model = modelIn(context + NUMBER + 4 * r, 16);
        r = peek(state, model);
        state = pass(state, model, r);
      } else {
        const model = modelIn(context + SAME_PULSE, 13);
        const beyond = peek(state, model);
        state = pass(state, model, beyond);
        r = (r + beyond + 2) & 15;
      }
    } else {
      // 0: as before, 1: one more, 2: one less.
      r = (r + (step & 1) - (step >> 1)) & 15;
    }

    const single = u32(n === 1);
    const kind = (<u32>load<u8>(KINDS + 16 * n + r) << 1) | newTime;
    const medianX = context + MEDIANS_X + MEDIAN_SIZE * kind;
    state = passIntegerLike(state, context + CODER_X, single, 32, bitsX);
    bitsX = Integer.bits;
    const dx = median(medianX) + Integer.difference;
    addToMedian(medianX, dx);
    x += dx;

    const medianY = context + MEDIANS_Y + MEDIAN_SIZE * kind;
    state = passIntegerLike(state, context + CODER_Y, single + (min(bitsX, 20) & ~1), 32, bitsY);
    bitsY = Integer.bits;
    const dy = median(medianY) + Integer.difference;
    addToMedian(medianY, dy);
    y += dy;

    store<i32>(Columns.x + 4 * i, x);
    store<i32>(Columns.y + 4 * i, y);
    store<u8>(Columns.returnNumber + i, <u8>r);
    store<u8>(Columns.returnCount + i, <u8>n);
    store<u8>(Columns.scannerChannel + i, <u8>channel);
    const bits = min((bitsX + bitsY) >> 1, 18) & ~1;
    const level = min(max(n, r) - min(n, r), 7);
    store<u8>(Columns.height + i, <u8>((single + bits) | (level << HEIGHT_LEVEL_SHIFT)));
    const pulse = u32(r >= n) | (u32(r === 1) << 1) | ((changes >> 2) & 4) | (changes & 8) | ((changes >> 1) & 16);
    store<u8>(Columns.pulse + i, <u8>(pulse | (auxiliary << PULSE_CHANNEL_SHIFT)));
    if (Stream.at < least) return false;
  }

  store<i32>(context, x, LAST_X);
  store<i32>(context, y, LAST_Y);
  store<u32>(context, n, LAST_COUNT);
  store<u32>(context, r, LAST_NUMBER);
  store<u32>(context, newTime, LAST_NEW_TIME);
  store<u32>(CURRENT, channel);
  suspend(LAYER_RETURNS_XY, state);
  return true;
}
