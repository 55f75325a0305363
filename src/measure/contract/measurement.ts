import type { Column, PointBatch } from '../../cloud/columns.js';

/** World coordinates are measured in whole quanta of 0.1 mm, so that sums are exact integers in a Float64. */
export const QUANTA_PER_METRE = 10_000;

/**
 * A batch of points as the measurements get it: the raw columns, and the values that every measurement needs, computed
 * once. `east`, `north`, `up` are world coordinates in whole quanta of 0.1 mm, whatever the unit of the cloud; `pass` is
 * the pass key (point source id, file number, scanner channel or GPS-time segment).
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
  /** 1 where the point is to be measured, 0 where the file marks it as withheld. */
  valid: Uint8Array;
  /** Number of withheld points. Where it is 0, `valid` need not be read. */
  withheld: number;
  /** Quanta: [min east, min north, min up, max east, max north, max up] of the valid points; empty batch: +-Infinity. */
  box: Float64Array;
  /** Index of the file in the delivery (files sorted by name). */
  file: number;
}

/**
 * The parameters of a fact by name, and whether each must be given. The compiler compares this list with the type of the
 * parameters, and a request with a parameter that is not listed is refused at run time.
 */
type ParameterNames<Params> = unknown extends Params
  ? Readonly<Record<string, 'optional' | 'required'>>
  : [Params] extends [null]
    ? Readonly<Record<string, never>>
    : { readonly [Name in keyof Params]-?: undefined extends Params[Name] ? 'optional' : 'required' };

/** A request for a fact: the id of a measurement, derivation or block derivation, and its parameters. */
export interface FactRequest<Id extends string = string, Params = unknown> {
  readonly measurement: Id;
  readonly params: Params;
}

/**
 * A measurement: facts with units, without limits and without a verdict. It is additive: while points are added it keeps
 * cells and never asks for neighbours. `finish` works on the merged cells, so the edges of tiles make no difference.
 *
 * Laws, tried on every registered measurement (1 to 5 in tests/laws/measurement-laws.test.ts, 6 in tests/laws/allocation.test.ts):
 * 1. the packed state has the same bytes however the points are split, ordered and grouped;
 * 2. merging an empty state changes nothing;
 * 3. sums are integers below 2^53, so that addition is exact;
 * 4. a packed state that is merged into an empty one packs to the same bytes;
 * 5. the size of a state depends on the ground and the passes, not on the number of points;
 * 6. `add` allocates no memory for each point.
 */
export interface Measurement<Id extends string, Params, State, Result> {
  /** The name of the file; also the key in stored states. */
  id: Id;
  parameters: ParameterNames<Params>;
  /** Raised when the meaning of a state changes. */
  version: number;
  /** The columns the reader must decode. Coordinates, flags and the pass are always there and are not named here. */
  columns(params: Params): readonly Column[];
  create(params: Params): State;
  add(state: State, batch: MeasuredBatch): void;
  /** The state as bytes: equal states give equal bytes. */
  pack(state: State): ArrayBuffer;
  /** Adds a packed state to `state`. There is no other way to merge states. */
  merge(state: State, packed: ArrayBuffer): void;
  /** Computes the result. No other step divides or takes roots. */
  finish(state: State, params: Params): Result;
  /** Returns the memory of a state that is no longer needed. */
  release?(state: State): void;
  /** Given where a state is too large to be kept whole: it is then cut into processing blocks. */
  blocks?: Blocks<Params, State>;
}

/** The part of a state that one processing block needs; packed, so that it can be merged into an empty state. */
export interface BlockPiece {
  /** Column and row of the block: floor(world / edge). */
  column: number;
  row: number;
  packed: ArrayBuffer;
  /** Number of bytes in use. */
  bytes: number;
}

/** How a state is cut into processing blocks. A block is finalised as soon as all of its points have been read. */
interface Blocks<Params, State> {
  /** Edge of a block, metres. */
  edge(params: Params): number;
  /** Distance outside a block, metres, up to which points belong to its pieces. */
  halo(params: Params): number;
  /** Cuts a state into pieces and leaves it empty. Cells on the border of a block may be in the pieces of both blocks. */
  cut(state: State): BlockPiece[];
  /** Merges all pieces of a block into the form that the block derivations read. */
  open(block: { column: number; row: number }, pieces: readonly ArrayBuffer[], params: Params): unknown;
  /** Returns the memory of a piece that is no longer needed. */
  recycle?(piece: ArrayBuffer): void;
}

/** Anything registered that gives a fact. */
export type FactSource = { id: string } & (
  | { finish(state: never, params: never): unknown }
  | { derive(source: never, params: never): unknown }
  | { combine(whole: never, params: never, known: never): unknown }
);

/** Parameters and result of a registered fact, as a pair. */
export type FactOf<Source> = Source extends { finish(state: never, params: infer Params): infer Result }
  ? [Params, Result]
  : Source extends { derive(source: never, params: infer Params): infer Result }
    ? [Params, Result]
    : Source extends { combine(whole: never, params: infer Params, known: never): infer Result }
      ? [Params, Result]
      : never;

/** A request for the fact that `Source` gives. */
export type RequestFor<Source extends FactSource> = FactRequest<Source['id'], FactOf<Source>[0]>;

type KeysOfAll<Union> = Union extends unknown ? keyof Union : never;

/** Forbids every property of `Given`, or of one of its alternatives, that `Params` does not have. */
export type NoExcess<Given, Params> = [Given] extends [null]
  ? unknown
  : { readonly [Name in Exclude<KeysOfAll<Given>, keyof Params>]?: never };

/** A request for the fact of `source`. A parameter that is unknown, missing or of another type does not compile. */
export function requestFrom<Source extends FactSource, Given extends FactOf<Source>[0]>(
  source: Source,
  params: Given & NoExcess<Given, FactOf<Source>[0]>,
): RequestFor<Source> {
  return { measurement: source.id, params };
}

/**
 * A fact that is computed from the result of another one, `Source`. It is computed once for all checks that ask for it
 * with the same parameters.
 */
export interface Derivation<Id extends string, Source extends FactSource, Params, Result> {
  /** The name of the file. */
  id: Id;
  parameters: ParameterNames<Params>;
  /** The request for the fact that this one is computed from. */
  from(params: Params): RequestFor<Source>;
  derive(source: FactOf<Source>[1], params: Params): Result;
}

/**
 * A fact from a measurement, `Source`, whose state is cut into processing blocks. A part is kept of each block; at the
 * end the parts are gathered in a fixed order: by column, then row. `Again` is the fact that a second reading gives.
 */
export interface BlockDerivation<
  Id extends string,
  Source extends FactSource,
  Params,
  Opened,
  Part,
  Whole,
  Result,
  Again extends FactSource = never,
> {
  /** The name of the file. */
  id: Id;
  parameters: ParameterNames<Params>;
  /** The request for the measurement that this fact is computed from. */
  from(params: Params): RequestFor<Source>;
  /** The parameters that `collect` reads: requests that agree on these share the parts. */
  local(params: Params): Params;
  /** The part that is kept of a block, from what `open` of the measurement returned. Plain data: it is sent between threads. */
  collect(block: Opened, params: Params): Part;
  /** Puts the parts of all blocks together, once for all requests that agree on `local`. */
  gather(parts: readonly Part[]): Whole;
  /** What must be measured in a second reading; an empty list for most deliveries. */
  secondReading(whole: Whole, params: Params): RequestFor<Again>[];
  /** Computes the result. `known` gives the results of what `secondReading` asked for. */
  combine(whole: Whole, params: Params, known: (request: RequestFor<Again>) => FactOf<Again>[1]): Result;
}

// biome-ignore lint/suspicious/noExplicitAny: the registry holds measurements of every kind; the contract is checked where each is defined
export type AnyMeasurement = Measurement<string, any, any, any>;
// biome-ignore lint/suspicious/noExplicitAny: as above
export type AnyDerivation = Derivation<string, any, any, any>;
// biome-ignore lint/suspicious/noExplicitAny: as above
export type AnyBlockDerivation = BlockDerivation<string, any, any, any, any, any, any, any>;
