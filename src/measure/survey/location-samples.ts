import { KeyTable } from '../cells/key-table.js';
import { headerBytes, type PackedHeader, readHeader, writeHeader } from '../cells/packed-header.js';
import { type MeasuredBatch, QUANTA_PER_METRE } from '../contract/measurement.js';

/** Locations around which points are kept, by coarse cell, so that most batches and most points are dismissed by one comparison. */
interface Locations {
  side: number;
  /** Quanta; `radius` is the horizontal radius of each. */
  x: Float64Array;
  y: Float64Array;
  z: Float64Array;
  radius: Float64Array;
  /** For each place the first one with its coordinates and radius: points are kept for that one only. */
  first: Int32Array;
  /** The places that are the first of their kind. */
  distinct: Int32Array;
  cells: KeyTable;
  members: Int32Array[];
}

/** Points kept around one place in one pass: those with the smallest hash, so that samples merge in any order. */
export interface LocationSample {
  /** All points within the radius, kept or not. */
  total: number;
  kept: number;
  /** Points whose hash is above this were dropped. */
  ceiling: number;
  /** For each point its hash, as a signed number, then quanta from the place in x, y and z, then what else is kept. */
  rows: Int32Array;
}

/** Bounded samples of the cloud around places, pass by pass. */
export interface LocationSamples {
  locations: Locations;
  /** 1 for each class of points that is kept. */
  accepted: Uint8Array;
  /** Most points kept for one place and pass. */
  most: number;
  /** Whole numbers kept of each point: 3, or 4 with the intensity. */
  width: 3 | 4;
  /** Keys: place, pass, 0, 0. */
  keys: KeyTable;
  samples: LocationSample[];
}

export interface Place {
  x: number;
  y: number;
  z: number;
}

const NOISE = [7, 18];
const preparedCache = new WeakMap<readonly Place[], Locations>();

/** Empty samples. `radius` in metres, of one place; `classes` null: every class but the noise classes 7 and 18. */
export function createLocationSamples(
  points: readonly Place[],
  radius: (place: number) => number,
  classes: readonly number[] | null,
  most: number,
  width: 3 | 4,
): LocationSamples {
  const accepted = new Uint8Array(256).fill(classes ? 0 : 1);
  for (const c of classes ?? []) accepted[c] = 1;
  if (!classes) for (const c of NOISE) accepted[c] = 0;
  return { locations: preparedOf(points, radius), accepted, most, width, keys: new KeyTable(), samples: [] };
}

function preparedOf(points: readonly Place[], radius: (place: number) => number): Locations {
  const quanta = (pick: (p: Place, i: number) => number) =>
    Float64Array.from(points, (p, i) => Math.round(pick(p, i) * QUANTA_PER_METRE));
  const radii = quanta((_, i) => radius(i));
  const known = preparedCache.get(points);
  if (known?.radius.every((r, i) => r === radii[i])) return known;
  const widest = radii.reduce((a, b) => Math.max(a, b), 0);
  const side = Math.max(widest * 2, QUANTA_PER_METRE);
  const [x, y, z] = [quanta((p) => p.x), quanta((p) => p.y), quanta((p) => p.z)];
  const first = firstOfPlaces(x, y, z, radii);
  const distinct = first.filter((same, p) => same === p);
  const locations: Locations = { side, x, y, z, radius: radii, first, distinct, cells: new KeyTable(), members: [] };
  const members: number[][] = [];
  for (const p of distinct) {
    const x0 = Math.floor((locations.x[p] - radii[p]) / side);
    const x1 = Math.floor((locations.x[p] + radii[p]) / side);
    const y0 = Math.floor((locations.y[p] - radii[p]) / side);
    const y1 = Math.floor((locations.y[p] + radii[p]) / side);
    for (let cx = x0; cx <= x1; cx++) {
      for (let cy = y0; cy <= y1; cy++) {
        const cell = locations.cells.add(cx, cy, 0, 0);
        if (members[cell]) members[cell].push(p);
        else members[cell] = [p];
      }
    }
  }
  locations.members = members.map((list) => Int32Array.from(list));
  preparedCache.set(points, locations);
  return locations;
}

function firstOfPlaces(...of: Float64Array[]): Int32Array {
  const known = new Map<string, number>();
  return Int32Array.from({ length: of[0].length }, (_, p) => {
    const key = of.map((values) => values[p]).join(' ');
    const first = known.get(key) ?? p;
    if (first === p) known.set(key, p);
    return first;
  });
}

/** Up to so many places near a batch, each is tried on all points; beyond, points look up their cell. */
const FEW = 6;
let near = new Int32Array(0);

/** Adds the points of a batch that lie near a place; `fourth` holds the fourth number of each point, where one is kept. */
export function addToLocations(state: LocationSamples, batch: MeasuredBatch, fourth: ArrayLike<number> | null): void {
  const count = locationsNear(state.locations, batch.box);
  if (count > FEW) addByCell(state, batch, fourth);
  else for (let k = 0; k < count; k++) addLocation(state, batch, near[k], fourth);
}

/** Fills `near` with the places whose circle may touch the box, and says how many. */
function locationsNear(locations: Locations, box: Float64Array): number {
  if (near.length < locations.x.length) near = new Int32Array(locations.x.length);
  let count = 0;
  for (let k = 0; k < locations.distinct.length; k++) {
    const p = locations.distinct[k];
    const x = locations.x[p];
    const y = locations.y[p];
    const r = locations.radius[p];
    if (x < box[0] - r || x > box[3] + r || y < box[1] - r || y > box[4] + r) continue;
    near[count++] = p;
  }
  return count;
}

function addLocation(
  state: LocationSamples,
  batch: MeasuredBatch,
  location: number,
  fourth: ArrayLike<number> | null,
): void {
  const { east, north, count } = batch;
  const radius = state.locations.radius[location];
  const locationX = state.locations.x[location];
  const locationY = state.locations.y[location];
  for (let i = 0; i < count; i++) {
    const ox = east[i] - locationX;
    if (ox > radius || ox < -radius) continue;
    const oy = north[i] - locationY;
    if (oy > radius || oy < -radius) continue;
    take(state, batch, i, location, fourth);
  }
}

function addByCell(state: LocationSamples, batch: MeasuredBatch, fourth: ArrayLike<number> | null): void {
  const { locations } = state;
  const { east, north, count } = batch;
  const { side } = locations;
  let cellX = Number.NaN;
  let cellY = Number.NaN;
  let members: Int32Array | null = null;
  for (let i = 0; i < count; i++) {
    const x = east[i];
    const y = north[i];
    const dx = x - cellX;
    const dy = y - cellY;
    if (!(dx >= 0 && dx < side && dy >= 0 && dy < side)) {
      const cx = Math.floor(x / side);
      const cy = Math.floor(y / side);
      cellX = cx * side;
      cellY = cy * side;
      const cell = locations.cells.find(cx, cy, 0, 0);
      members = cell < 0 ? null : locations.members[cell];
    }
    if (members !== null) for (let m = 0; m < members.length; m++) take(state, batch, i, members[m], fourth);
  }
}

/** Keeps point i for a place if it counts and lies within the circle. */
function take(
  state: LocationSamples,
  batch: MeasuredBatch,
  i: number,
  location: number,
  fourth: ArrayLike<number> | null,
): void {
  const { locations } = state;
  const radius = locations.radius[location];
  const ox = batch.east[i] - locations.x[location];
  const oy = batch.north[i] - locations.y[location];
  if (batch.valid[i] === 0 || state.accepted[batch.points.classification[i]] === 0) return;
  if (ox * ox + oy * oy > radius * radius) return;
  const oz = batch.up[i] - locations.z[location];
  if (oz > 0x7fffffff || oz < -0x7fffffff) return;
  const sample = openSample(state, location, batch.pass[i]);
  sample.total++;
  keep(sample, hashOf(batch, i), ox, oy, oz, fourth === null ? 0 : fourth[i], state);
}

/** Points for which a sample has room at first. */
const FEWEST_ROWS = 16;

function openSample(state: LocationSamples, place: number, pass: number): LocationSample {
  const index = state.keys.add(place, pass, 0, 0);
  if (index === state.samples.length) {
    const rows = new Int32Array(FEWEST_ROWS * (state.width + 1));
    state.samples.push({ total: 0, kept: 0, ceiling: 0xffffffff, rows });
  }
  return state.samples[index];
}

/** Keeps a point unless its hash is above the ceiling. `mixed` holds the hash as a signed number. */
function keep(
  s: LocationSample,
  mixed: number,
  a: number,
  b: number,
  c: number,
  d: number,
  state: LocationSamples,
): void {
  const hash = mixed >>> 0;
  if (hash > s.ceiling) return;
  const step = state.width + 1;
  if (s.kept * step === s.rows.length) {
    if (s.kept >= 2 * state.most) compact(s, state);
    else s.rows = grown(s.rows);
    if (hash > s.ceiling) return;
  }
  const at = s.kept++ * step;
  s.rows[at] = mixed;
  s.rows[at + 1] = a;
  s.rows[at + 2] = b;
  s.rows[at + 3] = c;
  if (state.width === 4) s.rows[at + 4] = d;
}

function grown(rows: Int32Array): Int32Array {
  const more = new Int32Array(rows.length * 2);
  more.set(rows);
  return more;
}

/** Sorts by hash, then by the values, and drops what is beyond the limit. */
export function compact(s: LocationSample, { most, width }: Pick<LocationSamples, 'most' | 'width'>): void {
  const { rows } = s;
  const step = width + 1;
  const order = Int32Array.from({ length: s.kept }, (_, k) => k * step).sort((i, j) => {
    let difference = (rows[i] >>> 0) - (rows[j] >>> 0);
    for (let v = 1; difference === 0 && v < step; v++) difference = rows[i + v] - rows[j + v];
    return difference;
  });
  const kept = Math.min(order.length, most);
  s.rows = new Int32Array(rows.length);
  for (let k = 0; k < kept; k++) s.rows.set(rows.subarray(order[k], order[k] + step), k * step);
  s.kept = kept;
  if (kept === most) s.ceiling = s.rows[(kept - 1) * step] >>> 0;
}

/** The parts of a measurement that are the same for all samples around places: identity, packing, merging. */
export function locationPacking<Id extends string>(header: PackedHeader & { id: Id }) {
  return {
    id: header.id,
    version: header.version,
    pack: (state: LocationSamples) => packLocations(state, header),
    merge: (state: LocationSamples, packed: ArrayBuffer) => mergeLocations(state, packed, header),
  };
}

const ROWS_AT = headerBytes(2);

/** Canonical bytes. */
function packLocations(state: LocationSamples, header: PackedHeader): ArrayBuffer {
  const order = state.keys.sorted();
  let kept = 0;
  for (const sample of state.samples) {
    compact(sample, state);
    kept += sample.kept;
  }
  const words = state.width + 1;
  const buffer = new ArrayBuffer(ROWS_AT + order.length * 32 + kept * words * 4);
  writeHeader(buffer, header, [order.length], [state.width]);
  const rows = new Float64Array(buffer, ROWS_AT, order.length * 4);
  const body = new Int32Array(buffer, ROWS_AT + order.length * 32);
  let at = 0;
  for (let i = 0; i < order.length; i++) {
    const s = state.samples[order[i]];
    rows.set([state.keys.part(order[i], 0), state.keys.part(order[i], 1), s.total, s.kept], i * 4);
    body.set(s.rows.subarray(0, s.kept * words), at);
    at += s.kept * words;
  }
  return buffer;
}

/** Adds packed samples. */
function mergeLocations(state: LocationSamples, packed: ArrayBuffer, header: PackedHeader): void {
  const [count] = readHeader(packed, header, 1, [state.width]);
  const rows = new Float64Array(packed, ROWS_AT, count * 4);
  const body = new Int32Array(packed, ROWS_AT + count * 32);
  const words = state.width + 1;
  let at = 0;
  for (let i = 0; i < count; i++) {
    const sample = openSample(state, rows[i * 4], rows[i * 4 + 1]);
    sample.total += rows[i * 4 + 2];
    for (let k = 0; k < rows[i * 4 + 3]; k++, at += words) {
      keep(sample, body[at], body[at + 1], body[at + 2], body[at + 3], state.width === 4 ? body[at + 4] : 0, state);
    }
  }
}

/**
 * 32-bit mix of the world coordinates of point i: which points are kept depends on where they are, on nothing else. It reads
 * the columns itself and returns a signed number: the engine allocates memory for a Float64, and for an unsigned number of
 * 32 bits, that goes into or comes out of a function.
 */
function hashOf({ east, north, up }: MeasuredBatch, i: number): number {
  const x = east[i];
  const y = north[i];
  const z = up[i];
  let h = Math.imul((x % 0x100000000) | 0, 0x9e3779b1) ^ Math.imul((y % 0x100000000) | 0, 0x85ebca6b);
  h ^= Math.imul((z % 0x100000000) | 0, 0xc2b2ae35);
  h ^= h >>> 16;
  h = Math.imul(h, 0x7feb352d);
  h ^= h >>> 15;
  h = Math.imul(h, 0x846ca68b);
  return h ^ (h >>> 16);
}
