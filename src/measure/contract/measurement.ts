import type { Column, PointBatch } from '../../cloud/columns.js';

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
  /** The pass of every point of the batch, or null where it holds more than one. */
  onlyPass: number | null;
  /** 1 where the point is to be measured, 0 where the file withholds it. */
  valid: Uint8Array;
  /** How many points are withheld: 0 for most batches, which then need no look at `valid`. */
  withheld: number;
  /** Quanta: [min east, min north, min up, max east, max north, max up] of the valid points; empty batch: +-Infinity. */
  box: Float64Array;
  /** Ordinal of the file in the delivery (files sorted by name). */
  file: number;
}

/**
 * A measurement: facts with units, no limits, no opinion. Additive: a measurement never asks for neighbours while adding;
 * it keeps cells and answers neighbourhood questions in `finish`, on merged cells, so that tile edges vanish.
 *
 * Laws (tests/laws/measurement-laws.test.ts runs them over every registered measurement):
 * 1. however the points are split, ordered and grouped, the packed state is the same bytes;
 * 2. an empty state changes nothing; 3. sums are integers below 2^53, so addition is exact;
 * 4. a packed state absorbed by an empty one packs to the same bytes; 5. a state grows with area and passes, never with
 * points; 6. `add` allocates nothing per point.
 */
export interface Measurement<Params, State, Result> {
  /** File name; also the key in stored states. */
  id: string;
  /** Raised when the meaning of a state changes. */
  version: number;
  /** What the reader must decode, nothing more. Coordinates, flags and the pass are always there. */
  columns(params: Params): readonly Column[];
  create(params: Params): State;
  add(state: State, batch: MeasuredBatch): void;
  /** Canonical bytes: equal states give equal bytes. */
  pack(state: State): ArrayBuffer;
  /** Adds a packed state to a living one: the only way states are merged. */
  merge(state: State, packed: ArrayBuffer): void;
  /** The only step that divides or takes roots. */
  finish(state: State, params: Params): Result;
  /** Gives back the memory of a state that nobody will look at again. */
  release?(state: State): void;
  /** For a state too large to be kept whole: how it is cut into areas, each boiled down once all its points are in. */
  blocks?: Blocks<Params, State>;
}

/** What one area of ground needs of a packed state: packed as well, and absorbed by an empty state. */
export interface BlockPiece {
  /** Which area: floor(world / edge). */
  column: number;
  row: number;
  packed: ArrayBuffer;
  /** Bytes that are filled. */
  bytes: number;
}

export interface Blocks<Params, State> {
  /** Edge of an area, metres. */
  edge(params: Params): number;
  /** How far from itself, metres, a point can matter to an area. */
  halo(params: Params): number;
  /** Cuts a state into pieces. A piece may hold a rim of the next areas, where cells straddle the border. The state is empty then. */
  cut(state: State): BlockPiece[];
  /** Prepares an area from all its pieces for what is to be kept of it: once for all derivations. */
  open(area: { column: number; row: number }, pieces: readonly ArrayBuffer[], params: Params): unknown;
  /** Gives back the memory of a piece that nobody will look at again. */
  recycle?(piece: ArrayBuffer): void;
}

/**
 * A fact worked out from another measurement's result, once, whichever checks ask for it: so two checks that look at the
 * same moments do not make the workers collect them twice.
 */
export interface Derivation<Params, Source, Result> {
  id: string;
  /** The measurement (or derivation) it is worked out from. */
  from(params: Params): { measurement: string; params: unknown };
  derive(source: Source, params: Params): Result;
}

/** Something to be measured or derived, by name. */
export interface FactRequest {
  measurement: string;
  params: unknown;
}

/**
 * A derivation from a measurement whose state is cut into areas: something small is kept of each area, and the areas are
 * put together at the end, sorted by column, then row.
 */
export interface BlockDerivation<Params, Opened, Part, Whole, Result> {
  id: string;
  from(params: Params): FactRequest;
  /** The parameters that matter to `collect`: asks that agree on these share what is kept. */
  local(params: Params): Params;
  /** What is to be kept of an area, as the measurement opened it. Plain data: it travels between threads. */
  collect(area: Opened, params: Params): Part;
  /** Puts the areas together, once for all asks that agree on `local`. */
  gather(parts: readonly Part[]): Whole;
  /** What must be measured in a second reading, now that the first is known; mostly nothing. */
  secondReading(whole: Whole, params: Params): FactRequest[];
  /** `known` answers what `again` asked for. */
  combine(whole: Whole, params: Params, known: (ask: FactRequest) => unknown): Result;
}

// biome-ignore lint/suspicious/noExplicitAny: the registry holds measurements of every kind; the contract is checked where each is defined
export type AnyMeasurement = Measurement<any, any, any>;
// biome-ignore lint/suspicious/noExplicitAny: as above
export type AnyDerivation = Derivation<any, any, any>;
// biome-ignore lint/suspicious/noExplicitAny: as above
export type AnyBlockDerivation = BlockDerivation<any, any, any, any, any>;
