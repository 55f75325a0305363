import type { Column } from '../cloud/columns.js';
import { KeyTable } from './key-table.js';
import { type MeasuredBatch, type Measurement, QUANTA_PER_METRE } from './measurement.js';

export interface SurveyNeighbourhoodsParams {
  /** World metres of each surveyed point. */
  points: { x: number; y: number; z: number }[];
  /** Horizontal radius, metres, within which points are kept. */
  radius: number;
  /** Only points of these classes; null: every class but the noise classes 7 and 18. */
  classes: number[] | null;
  /** Most points kept for one survey point and pass; the rest is only counted. */
  most: number;
}

export interface SurveyNeighbourhoodsState {
  radius: number;
  most: number;
  accepted: Uint8Array;
  sites: Sites;
  /** Keys: survey point, pass, 0, 0. */
  keys: KeyTable;
  samples: Sample[];
}

/** Points kept around one survey point in one pass: those with the smallest hash, so that samples merge in any order. */
interface Sample {
  /** All points within the radius, kept or not. */
  total: number;
  kept: number;
  /** Points whose hash is above this were dropped. */
  ceiling: number;
  hash: Uint32Array;
  /** Quanta from the survey point. */
  dx: Int32Array;
  dy: Int32Array;
  dz: Int32Array;
}

export interface Neighbourhood {
  point: number;
  pass: number;
  total: number;
  /** Metres from the survey point, sorted by hash and coordinates: the same order whatever order they were read in. */
  dx: Float64Array;
  dy: Float64Array;
  dz: Float64Array;
  /** Largest hash kept when points were dropped, else null: passes are thinned alike by keeping hashes below the smallest. */
  ceiling: number | null;
  hash: Uint32Array;
}

const MAGIC = 0x534e4231;
const NOISE = [7, 18];

/** The cloud around each survey point, pass by pass, as a bounded sample. */
export const surveyNeighbourhoods: Measurement<SurveyNeighbourhoodsParams, SurveyNeighbourhoodsState, Neighbourhood[]> =
  {
    id: 'survey-neighbourhoods',
    version: 1,
    columns: (): readonly Column[] => ['classification'],

    create(params) {
      const accepted = new Uint8Array(256).fill(params.classes ? 0 : 1);
      for (const c of params.classes ?? []) accepted[c] = 1;
      if (!params.classes) for (const c of NOISE) accepted[c] = 0;
      return {
        radius: Math.round(params.radius * QUANTA_PER_METRE),
        most: params.most,
        accepted,
        sites: sitesOf(params),
        keys: new KeyTable(),
        samples: [],
      };
    },

    add: addBatch,

    pack(state) {
      const order = state.keys.sorted();
      let kept = 0;
      for (const sample of state.samples) {
        compact(sample, state.most);
        kept += sample.kept;
      }
      const buffer = new ArrayBuffer(8 + order.length * 32 + kept * 16);
      new Int32Array(buffer).set([MAGIC, order.length]);
      const rows = new Float64Array(buffer, 8, order.length * 4);
      const body = new Int32Array(buffer, 8 + order.length * 32);
      let at = 0;
      for (let i = 0; i < order.length; i++) {
        const s = state.samples[order[i]];
        rows.set([state.keys.part(order[i], 0), state.keys.part(order[i], 1), s.total, s.kept], i * 4);
        for (let k = 0; k < s.kept; k++, at += 4) {
          body[at] = s.hash[k] | 0;
          body[at + 1] = s.dx[k];
          body[at + 2] = s.dy[k];
          body[at + 3] = s.dz[k];
        }
      }
      return buffer;
    },

    absorb(state, packed) {
      const [magic, count] = new Int32Array(packed, 0, 2);
      if (magic !== MAGIC) throw new RangeError('these are not packed survey neighbourhoods');
      const rows = new Float64Array(packed, 8, count * 4);
      const body = new Int32Array(packed, 8 + count * 32);
      let at = 0;
      for (let i = 0; i < count; i++) {
        const sample = openSample(state, rows[i * 4], rows[i * 4 + 1]);
        sample.total += rows[i * 4 + 2];
        for (let k = 0; k < rows[i * 4 + 3]; k++, at += 4) {
          keep(sample, body[at] >>> 0, body[at + 1], body[at + 2], body[at + 3], state.most);
        }
      }
    },

    finish(state, params) {
      const found: Neighbourhood[] = [];
      for (const row of state.keys.sorted()) {
        const s = state.samples[row];
        compact(s, state.most);
        const point = state.keys.part(row, 0);
        const { x, y, z } = params.points[point];
        // The survey's own digits beyond 0.1 mm, so that rounding of its coordinates adds nothing to a residual.
        const rest = [x, y, z].map((v) => Math.round(v * QUANTA_PER_METRE) / QUANTA_PER_METRE - v);
        const metres = (q: Int32Array, more: number) =>
          Float64Array.from(q.subarray(0, s.kept), (v) => v / QUANTA_PER_METRE + more);
        found.push({
          point,
          pass: state.keys.part(row, 1),
          total: s.total,
          dx: metres(s.dx, rest[0]),
          dy: metres(s.dy, rest[1]),
          dz: metres(s.dz, rest[2]),
          ceiling: s.total > s.kept ? s.hash[s.kept - 1] : null,
          hash: s.hash.slice(0, s.kept),
        });
      }
      return found;
    },
  };

/** Survey points by coarse cell, so that most batches and most points are dismissed by one comparison. */
interface Sites {
  side: number;
  x: Float64Array;
  y: Float64Array;
  z: Float64Array;
  cells: KeyTable;
  members: Int32Array[];
}

const sitesCache = new WeakMap<SurveyNeighbourhoodsParams, Sites>();

function sitesOf(params: SurveyNeighbourhoodsParams): Sites {
  const known = sitesCache.get(params);
  if (known) return known;
  const radius = Math.round(params.radius * QUANTA_PER_METRE);
  const side = Math.max(radius * 2, QUANTA_PER_METRE);
  const quanta = (pick: (p: { x: number; y: number; z: number }) => number) =>
    Float64Array.from(params.points, (p) => Math.round(pick(p) * QUANTA_PER_METRE));
  const sites: Sites = {
    side,
    x: quanta((p) => p.x),
    y: quanta((p) => p.y),
    z: quanta((p) => p.z),
    cells: new KeyTable(),
    members: [],
  };
  for (let p = 0; p < sites.x.length; p++) {
    const x0 = Math.floor((sites.x[p] - radius) / side);
    const x1 = Math.floor((sites.x[p] + radius) / side);
    const y0 = Math.floor((sites.y[p] - radius) / side);
    const y1 = Math.floor((sites.y[p] + radius) / side);
    for (let cx = x0; cx <= x1; cx++) {
      for (let cy = y0; cy <= y1; cy++) {
        const cell = sites.cells.add(cx, cy, 0, 0);
        sites.members[cell] = Int32Array.from([...(sites.members[cell] ?? []), p]);
      }
    }
  }
  sitesCache.set(params, sites);
  return sites;
}

/** Up to so many survey points near a batch, each is tried on all points; beyond, points look up their cell. */
const FEW = 6;
let near = new Int32Array(0);

function addBatch(state: SurveyNeighbourhoodsState, batch: MeasuredBatch): void {
  const count = sitesNear(state.sites, batch.box, state.radius);
  if (count > FEW) addByCell(state, batch);
  else for (let k = 0; k < count; k++) addSite(state, batch, near[k]);
}

/** Fills `near` with the survey points whose circle may touch the box, and says how many. */
function sitesNear(sites: Sites, box: Float64Array, radius: number): number {
  if (near.length < sites.x.length) near = new Int32Array(sites.x.length);
  let count = 0;
  for (let p = 0; p < sites.x.length; p++) {
    const x = sites.x[p];
    const y = sites.y[p];
    if (x < box[0] - radius || x > box[3] + radius || y < box[1] - radius || y > box[4] + radius) continue;
    near[count++] = p;
  }
  return count;
}

function addSite(state: SurveyNeighbourhoodsState, batch: MeasuredBatch, site: number): void {
  const { east, north, count } = batch;
  const { radius } = state;
  const siteX = state.sites.x[site];
  const siteY = state.sites.y[site];
  for (let i = 0; i < count; i++) {
    const ox = east[i] - siteX;
    if (ox > radius || ox < -radius) continue;
    const oy = north[i] - siteY;
    if (oy > radius || oy < -radius) continue;
    take(state, batch, i, site);
  }
}

function addByCell(state: SurveyNeighbourhoodsState, batch: MeasuredBatch): void {
  const { sites } = state;
  const { east, north, count } = batch;
  const { side } = sites;
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
      const cell = sites.cells.find(cx, cy, 0, 0);
      members = cell < 0 ? null : sites.members[cell];
    }
    if (members !== null) for (let m = 0; m < members.length; m++) take(state, batch, i, members[m]);
  }
}

/** Keeps point i for a survey point if it counts and lies within the circle. */
function take(state: SurveyNeighbourhoodsState, batch: MeasuredBatch, i: number, site: number): void {
  const { sites, radius } = state;
  const ox = batch.east[i] - sites.x[site];
  const oy = batch.north[i] - sites.y[site];
  if (batch.live[i] === 0 || state.accepted[batch.points.classification[i]] === 0) return;
  if (ox * ox + oy * oy > radius * radius) return;
  const oz = batch.up[i] - sites.z[site];
  if (oz > 0x7fffffff || oz < -0x7fffffff) return;
  const sample = openSample(state, site, batch.pass[i]);
  sample.total++;
  keep(sample, hashOf(batch.east[i], batch.north[i], batch.up[i]), ox, oy, oz, state.most);
}

function openSample(state: SurveyNeighbourhoodsState, point: number, pass: number): Sample {
  const index = state.keys.add(point, pass, 0, 0);
  if (index === state.samples.length) {
    state.samples.push({
      total: 0,
      kept: 0,
      ceiling: 0xffffffff,
      hash: new Uint32Array(64),
      dx: new Int32Array(64),
      dy: new Int32Array(64),
      dz: new Int32Array(64),
    });
  }
  return state.samples[index];
}

function keep(s: Sample, hash: number, dx: number, dy: number, dz: number, most: number): void {
  if (hash > s.ceiling) return;
  if (s.kept === s.hash.length) {
    if (s.kept >= 2 * most) compact(s, most);
    else resize(s, s.hash.length * 2);
    if (hash > s.ceiling) return;
  }
  const k = s.kept++;
  s.hash[k] = hash;
  s.dx[k] = dx;
  s.dy[k] = dy;
  s.dz[k] = dz;
}

function resize(s: Sample, capacity: number): void {
  const grow = <T extends Uint32Array | Int32Array>(from: T, to: T): T => {
    to.set(from.subarray(0, Math.min(s.kept, capacity)));
    return to;
  };
  s.hash = grow(s.hash, new Uint32Array(capacity));
  s.dx = grow(s.dx, new Int32Array(capacity));
  s.dy = grow(s.dy, new Int32Array(capacity));
  s.dz = grow(s.dz, new Int32Array(capacity));
}

/** Sorts by hash, then coordinates, and drops what is beyond the limit. */
function compact(s: Sample, most: number): void {
  const order = Int32Array.from({ length: s.kept }, (_, k) => k).sort(
    (i, j) => s.hash[i] - s.hash[j] || s.dx[i] - s.dx[j] || s.dy[i] - s.dy[j] || s.dz[i] - s.dz[j],
  );
  const kept = Math.min(order.length, most);
  const taken = order.subarray(0, kept);
  const { hash, dx, dy, dz } = s;
  const capacity = Math.max(64, hash.length);
  s.hash = new Uint32Array(capacity);
  s.dx = new Int32Array(capacity);
  s.dy = new Int32Array(capacity);
  s.dz = new Int32Array(capacity);
  for (let k = 0; k < kept; k++) {
    s.hash[k] = hash[taken[k]];
    s.dx[k] = dx[taken[k]];
    s.dy[k] = dy[taken[k]];
    s.dz[k] = dz[taken[k]];
  }
  s.kept = kept;
  if (kept === most) s.ceiling = s.hash[kept - 1];
}

/** 32-bit mix of the world coordinates: which points are kept depends on where they are, on nothing else. */
function hashOf(x: number, y: number, z: number): number {
  let h = Math.imul((x % 0x100000000) | 0, 0x9e3779b1) ^ Math.imul((y % 0x100000000) | 0, 0x85ebca6b);
  h ^= Math.imul((z % 0x100000000) | 0, 0xc2b2ae35);
  h ^= h >>> 16;
  h = Math.imul(h, 0x7feb352d);
  h ^= h >>> 15;
  h = Math.imul(h, 0x846ca68b);
  return (h ^ (h >>> 16)) >>> 0;
}
