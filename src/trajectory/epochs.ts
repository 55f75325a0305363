import { EPOCH_SECONDS, NOT_STATED, type TrajectoryMean } from '../delivery/trajectory.js';
import { Fault } from '../fault.js';
import { FIELDS, type Field } from './columns.js';
import { WEEK } from './gps-time.js';

/** Place of each field in a row of values. */
export const SLOT = Object.fromEntries(FIELDS.map((field, slot) => [field, slot])) as Record<Field, number>;
/** Values in a row. */
export const SLOTS = FIELDS.length;

/** Fields of which an epoch has that of its first row. */
const FIRST = ['x', 'y', 'longitude', 'latitude', 'height', 'roll', 'pitch', 'heading'] as const;
/** Fields of which an epoch has the largest size of its rows, with its sign. */
const LARGEST = [
  'sigmaEast',
  'sigmaNorth',
  'sigmaUp',
  'sigmaRoll',
  'sigmaPitch',
  'sigmaHeading',
  'separationEast',
  'separationNorth',
  'separationUp',
  'pdop',
  'baseDistance',
] as const;
const MEANS = LARGEST.slice(0, 9) as readonly TrajectoryMean[];
const POSITION = new Set<Field>(['x', 'y', 'longitude', 'latitude', 'height']);

/** Times of rows are rounded; an epoch begins this much early, seconds. */
const ROUNDING = 1e-6;

/** Rows condensed to epochs: columns in the units of the file, without the entries beyond `epochs`. */
export interface Epochs {
  rows: number;
  epochs: number;
  /** Rows left out because they repeat the time and the position of the row before. */
  repeated: number;
  /** Number of the first epoch after the week of GPS time ended and its seconds began again from 0; null where that did not happen. */
  turn: number | null;
  /** Seconds as the file counts them; they go on after the end of a week. */
  time: Float64Array;
  interval: Float32Array;
  columns: Partial<Record<Field, Float64Array | Float32Array | Uint8Array>>;
  means: Partial<Record<TrajectoryMean, number>>;
}

/**
 * Takes the rows of one drive in order of time and condenses them to epochs: a new one every EPOCH_SECONDS and where the
 * solution changes.
 */
export class EpochBuilder {
  readonly #where: string;
  readonly #has: ReadonlySet<Field>;
  readonly #first: { slot: number; data: Float64Array | Float32Array; field: Field }[];
  readonly #largest: { slot: number; data: Float32Array; field: Field; sum: number; count: number }[];
  #time = shared(Float64Array, FIRST_CAPACITY);
  #interval = shared(Float32Array, FIRST_CAPACITY);
  #solution: Uint8Array | null;
  #satellites: Uint8Array | null;
  #capacity = FIRST_CAPACITY;
  #rows = 0;
  #epochs = 0;
  #repeated = 0;
  #turn: number | null = null;
  #shift = 0;
  #last = Number.NEGATIVE_INFINITY;
  #start = Number.NEGATIVE_INFINITY;
  #lastSolution = -1;
  readonly #lastPlace = new Float64Array(3);
  readonly #placeSlots: Int32Array;

  /**
   * @param where name of the file in messages
   * @param has the fields that the rows have
   */
  constructor(where: string, has: ReadonlySet<Field>) {
    this.#where = where;
    this.#has = has;
    this.#first = FIRST.filter((field) => has.has(field)).map((field) => ({
      slot: SLOT[field],
      data: POSITION.has(field) ? shared(Float64Array, FIRST_CAPACITY) : shared(Float32Array, FIRST_CAPACITY),
      field,
    }));
    this.#largest = LARGEST.filter((field) => has.has(field)).map((field) => ({
      slot: SLOT[field],
      data: shared(Float32Array, FIRST_CAPACITY),
      field,
      sum: 0,
      count: 0,
    }));
    this.#solution = has.has('solution') ? shared(Uint8Array, FIRST_CAPACITY) : null;
    this.#satellites = has.has('satellites') ? shared(Uint8Array, FIRST_CAPACITY) : null;
    const place: Field[] = has.has('longitude') ? ['longitude', 'latitude', 'height'] : ['x', 'y', 'height'];
    this.#placeSlots = Int32Array.from(place, (field) => SLOT[field]);
  }

  get rows(): number {
    return this.#rows;
  }

  /**
   * Takes a row: values by slot, NaN where it has none; time and position are needed.
   * @param place words for where the row is, such as "line 12"; called only for a message
   * @throws Fault `trajectory-time` for a time before that of the row before; the same time at another position
   */
  add(row: Float64Array, place: () => string): void {
    let t = row[0] + this.#shift;
    const gap = t - this.#last;
    if (!(gap > 0)) {
      if (gap === 0) {
        this.#repeat(row, place);
        return;
      }
      if (Number.isNaN(t)) throw this.#fault('the row has no time', place);
      // Seconds of the week begin again from 0 at Saturday midnight.
      const isTurn = gap < -WEEK / 2 && row[0] >= 0 && row[0] < WEEK && this.#last < WEEK && this.#shift === 0;
      if (!isTurn) throw this.#reversed(row[0], place);
      this.#shift = WEEK;
      this.#turn = this.#epochs;
      this.#start = Number.NEGATIVE_INFINITY;
      t += WEEK;
    }
    const places = this.#placeSlots;
    if (Number.isNaN(row[places[0]] + row[places[1]])) throw this.#fault('the row has no position', place);
    const solution = this.#solution === null ? 0 : row[SOLUTION_SLOT];
    const e = this.#epochs - 1;
    if (e >= 0) {
      const since = t - this.#last;
      if (since > this.#interval[e]) this.#interval[e] = since;
    }
    if (t - this.#start > EPOCH_SECONDS - ROUNDING || solution !== this.#lastSolution) this.#open(row, t, solution);
    this.#take(row);
    this.#last = t;
    this.#rows++;
    const place3 = this.#lastPlace;
    const slots = this.#placeSlots;
    place3[0] = row[slots[0]];
    place3[1] = row[slots[1]];
    place3[2] = row[slots[2]];
  }

  /** The epochs of all rows. @throws Fault `trajectory-empty` */
  finish(): Epochs {
    if (this.#epochs === 0)
      throw new Fault({ code: 'trajectory-empty', where: this.#where, what: 'the file holds no row of a trajectory' });
    const n = this.#epochs;
    const columns: Epochs['columns'] = {};
    for (const { field, data } of [...this.#first, ...this.#largest]) columns[field] = resized(data, n);
    if (this.#solution) columns.solution = resized(this.#solution, n);
    if (this.#satellites) columns.satellites = resized(this.#satellites, n);
    const means: Epochs['means'] = {};
    for (const { field, sum, count } of this.#largest)
      if (count > 0 && MEANS.includes(field as TrajectoryMean)) means[field as TrajectoryMean] = sum / count;
    return {
      rows: this.#rows,
      epochs: n,
      repeated: this.#repeated,
      turn: this.#turn,
      time: resized(this.#time, n),
      interval: resized(this.#interval, n),
      columns,
      means,
    };
  }

  #open(row: Float64Array, t: number, solution: number): void {
    if (this.#epochs === this.#capacity) this.#grow();
    const e = this.#epochs++;
    this.#time[e] = t;
    this.#start = t;
    this.#lastSolution = solution;
    for (const { slot, data } of this.#first) data[e] = row[slot];
    for (const { data } of this.#largest) data[e] = Number.NaN;
    if (this.#solution) this.#solution[e] = solution;
    if (this.#satellites) this.#satellites[e] = NOT_STATED;
  }

  /** Adds a row to the last epoch. */
  #take(row: Float64Array): void {
    const e = this.#epochs - 1;
    const largest = this.#largest;
    for (let k = 0; k < largest.length; k++) {
      const one = largest[k];
      const value = row[one.slot];
      const size = value < 0 ? -value : value;
      // Not for NaN.
      if (size >= 0) {
        one.sum += size;
        one.count++;
        const known = one.data[e];
        if (!(size <= (known < 0 ? -known : known))) one.data[e] = value;
      }
    }
    if (this.#satellites) {
      const value = satellitesOf(row[SATELLITES_SLOT]);
      if (value < this.#satellites[e]) this.#satellites[e] = value;
    }
  }

  #grow(): void {
    this.#capacity *= 2;
    this.#time = resized(this.#time, this.#capacity);
    this.#interval = resized(this.#interval, this.#capacity);
    for (const one of this.#first) one.data = resized(one.data, this.#capacity);
    for (const one of this.#largest) one.data = resized(one.data, this.#capacity);
    if (this.#solution) this.#solution = resized(this.#solution, this.#capacity);
    if (this.#satellites) this.#satellites = resized(this.#satellites, this.#capacity);
  }

  #repeat(row: Float64Array, place: () => string): void {
    const slots = this.#placeSlots;
    for (let k = 0; k < 3; k++) {
      const value = row[slots[k]];
      if (value !== this.#lastPlace[k] && !Number.isNaN(value))
        throw this.#fault('the time is that of the row before, at another position', place);
    }
    this.#repeated++;
  }

  #reversed(time: number, place: () => string): Fault {
    return new Fault({
      code: 'trajectory-time',
      where: `${this.#where}, ${place()}`,
      what: 'the time is before that of the row before',
      found: `${time} s after ${this.#last - this.#shift} s`,
      advice: 'Sort the rows by time, and give every drive in a file of its own',
    });
  }

  #fault(what: string, place: () => string): Fault {
    return new Fault({ code: 'trajectory-time', where: `${this.#where}, ${place()}`, what });
  }

  /** The fields that the rows have. */
  get fields(): ReadonlySet<Field> {
    return this.#has;
  }
}

const FIRST_CAPACITY = 1 << 12;
const SOLUTION_SLOT = SLOT.solution;
const SATELLITES_SLOT = SLOT.satellites;

function satellitesOf(value: number): number {
  return value >= 0 ? Math.min(NOT_STATED - 1, value) : NOT_STATED;
}

type Arrays = Float64Array | Float32Array | Uint8Array;

function shared<A extends Arrays>(
  type: { new (buffer: SharedArrayBuffer): A; BYTES_PER_ELEMENT: number },
  n: number,
): A {
  return new type(new SharedArrayBuffer(n * type.BYTES_PER_ELEMENT));
}

/** A copy in shared memory of `n` entries. */
function resized<A extends Arrays>(data: A, n: number): A {
  const copy = shared(data.constructor as { new (buffer: SharedArrayBuffer): A; BYTES_PER_ELEMENT: number }, n);
  copy.set((n < data.length ? data.subarray(0, n) : data) as never);
  return copy;
}
