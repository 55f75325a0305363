import type { Column, PointBatch } from '../cloud/columns.js';

/** World coordinates are measured in whole quanta of 0.1 mm, so that sums are exact integers in a Float64. */
export const QUANTA_PER_METRE = 10_000;

/**
 * A block of points on its way through the measurements: the raw columns, and what every measurement needs of them,
 * worked out once. `east`, `north`, `up` are whole numbers of quanta (0.1 mm, world coordinates in metres whatever the
 * unit of the cloud); `pass` is the pass key (point source id, file number, scanner channel or GPS-time segment).
 */
export interface MeasuredBatch {
  points: PointBatch;
  count: number;
  east: Float64Array;
  north: Float64Array;
  up: Float64Array;
  pass: Int32Array;
  /** 1 where the point is to be measured, 0 where the file withholds it. */
  live: Uint8Array;
  /** Ordinal of the file in the delivery (files sorted by name). */
  file: number;
  /** Raw scale and offset of the file, for measurements of the file itself. */
  scale: readonly [number, number, number];
  offset: readonly [number, number, number];
}

/**
 * A measurement: facts with units, no limits, no opinion. Additive: a measurement never asks for neighbours while adding;
 * it keeps cells and answers neighbourhood questions in `finish`, on merged cells, so that tile edges vanish.
 *
 * Laws (tests/laws/measurement-laws.ts runs them over every registered measurement):
 * 1. however the points are split, ordered and grouped, the packed state is the same bytes;
 * 2. an empty state changes nothing; 3. sums are integers below 2^53, so addition is exact;
 * 4. unpack(pack(s)) packs to the same bytes; 5. a state grows with area and passes, never with points;
 * 6. `add` allocates nothing per point.
 */
export interface Measurement<Params, State, Result> {
  /** File name; also the key in stored states. */
  id: string;
  /** Raised when the meaning of a state changes. */
  version: number;
  /** What the reader must decode, nothing more. xyz, flags and the pass column are always there. */
  columns(params: Params): readonly Column[];
  create(params: Params): State;
  add(state: State, batch: MeasuredBatch): void;
  merge(into: State, from: State): void;
  /** Canonical bytes: equal states give equal bytes. */
  pack(state: State): ArrayBuffer;
  unpack(params: Params, data: ArrayBuffer): State;
  /** The only step that divides or takes roots. */
  finish(state: State, params: Params): Result;
}

// biome-ignore lint/suspicious/noExplicitAny: the registry holds measurements of every kind; the contract is checked where each is defined
export type AnyMeasurement = Measurement<any, any, any>;
