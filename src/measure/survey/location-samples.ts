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
  widest: number;
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
  hash: Uint32Array;
  /** Whole numbers kept of each point: quanta from the place in x, y and z, then what else is kept. */
  values: Int32Array[];
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
  const locations: Locations = {
    side,
    x: quanta((p) => p.x),
    y: quanta((p) => p.y),
    z: quanta((p) => p.z),
    radius: radii,
    widest,
    cells: new KeyTable(),
    members: [],
  };
  const members: number[][] = [];
  for (let p = 0; p < locations.x.length; p++) {
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
  for (let p = 0; p < locations.x.length; p++) {
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

function openSample(state: LocationSamples, place: number, pass: number): LocationSample {
  const index = state.keys.add(place, pass, 0, 0);
  if (index === state.samples.length) {
    const values = Array.from({ length: state.width }, () => new Int32Array(64));
    state.samples.push({ total: 0, kept: 0, ceiling: 0xffffffff, hash: new Uint32Array(64), values });
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
  if (s.kept === s.hash.length) {
    if (s.kept >= 2 * state.most) compact(s, state.most);
    else resize(s, s.hash.length * 2);
    if (hash > s.ceiling) return;
  }
  const k = s.kept++;
  s.hash[k] = hash;
  s.values[0][k] = a;
  s.values[1][k] = b;
  s.values[2][k] = c;
  if (state.width === 4) s.values[3][k] = d;
}

function resize(s: LocationSample, capacity: number): void {
  const hash = new Uint32Array(capacity);
  hash.set(s.hash.subarray(0, s.kept));
  s.hash = hash;
  s.values = s.values.map((held) => {
    const grown = new Int32Array(capacity);
    grown.set(held.subarray(0, s.kept));
    return grown;
  });
}

/** Sorts by hash, then by the values, and drops what is beyond the limit. */
function compact(s: LocationSample, most: number): void {
  const { hash, values } = s;
  const order = Int32Array.from({ length: s.kept }, (_, k) => k).sort((i, j) => {
    let difference = hash[i] - hash[j];
    for (let v = 0; difference === 0 && v < values.length; v++) difference = values[v][i] - values[v][j];
    return difference;
  });
  const kept = Math.min(order.length, most);
  const capacity = Math.max(64, hash.length);
  s.hash = new Uint32Array(capacity);
  for (let k = 0; k < kept; k++) s.hash[k] = hash[order[k]];
  s.values = values.map((held) => {
    const sorted = new Int32Array(capacity);
    for (let k = 0; k < kept; k++) sorted[k] = held[order[k]];
    return sorted;
  });
  s.kept = kept;
  if (kept === most) s.ceiling = s.hash[kept - 1];
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
    compact(sample, state.most);
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
    for (let k = 0; k < s.kept; k++, at += words) {
      body[at] = s.hash[k] | 0;
      for (let v = 0; v < state.width; v++) body[at + 1 + v] = s.values[v][k];
    }
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

/** One place in one pass, in metres from the place. */
export interface LocationNeighbourhood {
  point: number;
  pass: number;
  total: number;
  /** Metres from the surveyed place, sorted by hash and coordinates: the same order whatever order they were read in. */
  dx: Float64Array;
  dy: Float64Array;
  dz: Float64Array;
  /** Largest hash kept when points were dropped, else null: passes are thinned alike by keeping hashes below the smallest. */
  ceiling: number | null;
  hash: Uint32Array;
}

/** The samples in metres, by place, then by pass; `more` may add to each what else was kept. */
export function readLocations<More extends object>(
  state: LocationSamples,
  points: readonly Place[],
  more: (sample: LocationSample) => More,
): (LocationNeighbourhood & More)[] {
  const found: (LocationNeighbourhood & More)[] = [];
  for (const row of state.keys.sorted()) {
    const s = state.samples[row];
    compact(s, state.most);
    const point = state.keys.part(row, 0);
    const { x, y, z } = points[point];
    // The survey's own digits beyond 0.1 mm, so that rounding of its coordinates adds nothing to a residual.
    const rest = [x, y, z].map((v) => Math.round(v * QUANTA_PER_METRE) / QUANTA_PER_METRE - v);
    const metres = (axis: number) =>
      Float64Array.from(s.values[axis].subarray(0, s.kept), (v) => v / QUANTA_PER_METRE + rest[axis]);
    found.push({
      point,
      pass: state.keys.part(row, 1),
      total: s.total,
      dx: metres(0),
      dy: metres(1),
      dz: metres(2),
      ceiling: s.total > s.kept ? s.hash[s.kept - 1] : null,
      hash: s.hash.slice(0, s.kept),
      ...more(s),
    });
  }
  return found;
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
