import { headerBytes, type PackedHeader, readHeader, writeHeader } from './cells/packed-header.js';
import { type MeasuredBatch, type Measurement, QUANTA_PER_METRE } from './contract/measurement.js';

/** `most`: thousandths of a second of which every return of several is kept. */
export interface PulseTimesParams {
  most: number;
}

/** What the sample shows. A pulse here: return 1 of n, 2 of n ... n of n, one after the other in order of time. */
export interface PulseTimes {
  /** Complete pulses of two and more returns in the sample. */
  pulses: number;
  /** Of those, the ones whose returns do not all carry the same time. */
  unequal: number;
  /** Returns 1 to n in a row whose times differ by more than LONGEST_PULSE: one pulse, or parts of several. */
  apart: number;
  /**
   * First returns without the others of their pulse, as far as as many last returns without theirs were recorded within the
   * same thousandth of a second: pulses whose returns differ in time, or parts of several. At the edge of an area one kind is left.
   */
  split: number;
  /** The first of them in order of time: where its first return is (world metres), its time, and how far apart, seconds. */
  example: { x: number; y: number; time: number; spread: number } | null;
}

/** All returns of one scanner of one source in one thousandth of a second. */
interface Moment {
  hash: number;
  /** floor(1000 x time). */
  millisecond: number;
  source: number;
  channel: number;
  returns: number;
  /** Four numbers a return: time, return number + 16 x number of returns, east, north; empty once there are too many. */
  items: number[];
}

/** Sample of moments of GPS time, while it is collected. */
export interface PulseTimesState {
  most: number;
  /** The moments with the smallest hashes, sorted. */
  moments: Moment[];
}

const HEADER = { id: 'pulse-times', version: 2 } as const satisfies PackedHeader;
const ITEM = 4;
const HEAD = 6;
/** A scanner fires about 2000 pulses in a thousandth of a second; more returns than this are no scan (all times 0, say). */
const RETURNS_MAX = 4096;
/**
 * Light goes 3 km in this time, there and back 1.5 km: returns farther apart are of two pulses, each of which lost a return
 * at the edge of a tile or to a filter.
 */
export const LONGEST_PULSE = 1e-5;

/**
 * Whether the returns of a pulse carry the time of the pulse. Points of a pulse may be anywhere in the files, and if
 * their times differ, nothing identifies the pulse; so whole moments are kept, chosen by a hash of the moment: the same ones
 * however the points are split. Among the points of a moment, sorted by time, a pulse is a row of returns 1 to n.
 */
export const pulseTimes: Measurement<'pulse-times', PulseTimesParams, PulseTimesState, PulseTimes> = {
  id: HEADER.id,
  parameters: { most: 'required' },
  version: HEADER.version,
  columns: () => ['returns', 'gpsTime', 'pointSourceId', 'scannerChannel'],
  create: ({ most }) => ({ most, moments: [] }),
  add: addBatch,

  pack(state) {
    const size = state.moments.reduce((sum, m) => sum + HEAD + m.items.length, 0);
    const buffer = new ArrayBuffer(headerBytes(1) + size * 8);
    writeHeader(buffer, HEADER, [state.moments.length]);
    const out = new Float64Array(buffer, headerBytes(1));
    let at = 0;
    for (const m of state.moments) {
      out.set([m.hash, m.millisecond, m.source, m.channel, m.returns, m.items.length], at);
      out.set(sortedItems(m.items), at + HEAD);
      at += HEAD + m.items.length;
    }
    return buffer;
  },

  merge(state, packed) {
    const [moments] = readHeader(packed, HEADER, 1);
    const from = new Float64Array(packed, headerBytes(1));
    let at = 0;
    for (let k = 0; k < moments; k++) {
      const [hash, millisecond, source, channel, returns, length] = from.subarray(at, at + HEAD);
      at += HEAD;
      const moment = open(state, hash, millisecond, source, channel);
      if (moment) {
        moment.returns += returns;
        if (moment.returns > RETURNS_MAX) moment.items = [];
        else for (let i = 0; i < length; i++) moment.items.push(from[at + i]);
      }
      at += length;
    }
  },

  finish(state) {
    const found: PulseTimes = { pulses: 0, unequal: 0, apart: 0, split: 0, example: null };
    for (const moment of state.moments) {
      const { items, breaks } = takeEqual(withoutDoubles(sortedItems(moment.items)), found);
      const before = found.pulses + found.apart;
      walk(items, breaks, found);
      found.split += firstAndLast(items) - (found.pulses + found.apart - before);
    }
    return found;
  },
};

function addBatch(state: PulseTimesState, batch: MeasuredBatch): void {
  const { points, count, valid } = batch;
  if (!points.has.has('gpsTime')) return;
  const { gpsTime, returnNumber, returnCount, pointSourceId, scannerChannel } = points;
  let moment: Moment | null = null;
  let millisecond = Number.NaN;
  let source = 0;
  let channel = 0;
  for (let i = 0; i < count; i++) {
    if (returnCount[i] < 2 || valid[i] === 0) continue;
    const ms = Math.floor(gpsTime[i] * 1000);
    if (ms !== millisecond || pointSourceId[i] !== source || scannerChannel[i] !== channel) {
      if (!Number.isFinite(ms)) continue;
      millisecond = ms;
      source = pointSourceId[i];
      channel = scannerChannel[i];
      moment = open(state, hashOf(ms, source, channel), ms, source, channel);
    }
    if (moment === null) continue;
    if (++moment.returns > RETURNS_MAX) {
      if (moment.items.length > 0) moment.items = [];
      continue;
    }
    moment.items.push(gpsTime[i], returnNumber[i] + 16 * returnCount[i], batch.east[i], batch.north[i]);
  }
}

/** The moment, made if it is new; null when it does not belong to those with the smallest hashes. */
function open(
  state: PulseTimesState,
  hash: number,
  millisecond: number,
  source: number,
  channel: number,
): Moment | null {
  const { moments, most } = state;
  let low = 0;
  let high = moments.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    const m = moments[middle];
    const order = m.hash - hash || m.millisecond - millisecond || m.source - source || m.channel - channel;
    if (order === 0) return m;
    if (order < 0) low = middle + 1;
    else high = middle;
  }
  if (low >= most) return null;
  const moment: Moment = { hash, millisecond, source, channel, returns: 0, items: [] };
  moments.splice(low, 0, moment);
  if (moments.length > most) moments.pop();
  return moment;
}

function hashOf(millisecond: number, source: number, channel: number): number {
  let h =
    Math.imul((millisecond % 4_294_967_296) | 0, 0x9e3779b1) ^
    Math.imul(Math.floor(millisecond / 4_294_967_296) | 0, 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 15) ^ (source * 4 + channel), 0x2c1b3c6d);
  h = Math.imul(h ^ (h >>> 12), 0x297a2d39);
  return (h ^ (h >>> 15)) >>> 0;
}

/** By time, then return, then place: so that equal sets of returns give equal lists. */
function sortedItems(items: readonly number[]): number[] {
  const order = Array.from({ length: items.length / ITEM }, (_, k) => k * ITEM);
  order.sort((a, b) => {
    for (let k = 0; k < ITEM; k++) if (items[a + k] !== items[b + k]) return items[a + k] - items[b + k];
    return 0;
  });
  return order.flatMap((at) => items.slice(at, at + ITEM));
}

/** Sorted returns without those that are in the delivery more than once, as tiles that overlap have them. */
function withoutDoubles(items: readonly number[]): number[] {
  const kept: number[] = [];
  for (let at = 0; at < items.length; at += ITEM) {
    let same = at > 0;
    for (let k = 0; same && k < ITEM; k++) same = items[at + k] === items[at - ITEM + k];
    if (!same) for (let k = 0; k < ITEM; k++) kept.push(items[at + k]);
  }
  return kept;
}

/**
 * Counts the pulses whose returns all have one time, also where several pulses share it, as times in whole microseconds make
 * them; returns the others in their order, and the indexes at which counted ones were between them and the return before.
 */
function takeEqual(all: readonly number[], found: PulseTimes): { items: number[]; breaks: Set<number> } {
  const items: number[] = [];
  const breaks = new Set<number>();
  for (let begin = 0, end = 0; begin < all.length; begin = end) {
    while (end < all.length && all[end] === all[begin]) end += ITEM;
    const seen = new Map<number, number>();
    for (let at = begin; at < end; at += ITEM) seen.set(all[at + 1], (seen.get(all[at + 1]) ?? 0) + 1);
    const whole = new Map<number, number>();
    for (const code of seen.keys()) {
      const total = Math.floor(code / 16);
      let least = Number.POSITIVE_INFINITY;
      for (let number = 1; number <= total; number++) least = Math.min(least, seen.get(number + 16 * total) ?? 0);
      if (code % 16 === 1) found.pulses += least;
      whole.set(code, code % 16 <= total && Number.isFinite(least) ? least : 0);
    }
    for (let at = begin; at < end; at += ITEM) {
      const left = whole.get(all[at + 1])!;
      if (left > 0) whole.set(all[at + 1], left - 1);
      else for (let k = 0; k < ITEM; k++) items.push(all[at + k]);
      if (left > 0) breaks.add(items.length);
    }
  }
  return { items, breaks };
}

/** Number of first returns or of last ones, whichever are fewer. */
function firstAndLast(items: readonly number[]): number {
  let firsts = 0;
  let lasts = 0;
  for (let at = 0; at < items.length; at += ITEM) {
    const number = items[at + 1] % 16;
    if (number === 1) firsts++;
    if (number === Math.floor(items[at + 1] / 16)) lasts++;
  }
  return Math.min(firsts, lasts);
}

/** Finds pulses among the returns that are not of one time: 1 to n in a row. */
function walk(items: readonly number[], breaks: ReadonlySet<number>, found: PulseTimes): void {
  let begun = 0;
  for (let at = 0; at < items.length; at += ITEM) {
    const number = items[at + 1] % 16;
    const total = Math.floor(items[at + 1] / 16);
    if (number === 1) begun = at;
    else if (breaks.has(at)) {
      begun = at + ITEM;
      continue;
    } else {
      const before = at - ITEM;
      const follows = before >= begun && items[before + 1] === items[at + 1] - 1 && items[begun + 1] === 1 + 16 * total;
      if (!follows) {
        begun = at + ITEM;
        continue;
      }
    }
    if (number !== total) continue;
    const spread = items[at] - items[begun];
    if (spread > LONGEST_PULSE) {
      found.apart++;
      begun = at + ITEM;
      continue;
    }
    found.pulses++;
    if (spread !== 0) {
      found.unequal++;
      if (found.example === null || items[begun] < found.example.time)
        found.example = {
          x: items[begun + 2] / QUANTA_PER_METRE,
          y: items[begun + 3] / QUANTA_PER_METRE,
          time: items[begun],
          spread,
        };
    }
    begun = at + ITEM;
  }
}
