import type { Column } from '../cloud/columns.js';
import {
  type Attribute,
  addAttributes,
  Code,
  type CodeTally,
  createTally,
  EXTREMES,
} from './attributes/code-counts.js';
import { headerBytes, type PackedHeader, readHeader, writeHeader } from './cells/packed-header.js';
import { type MaskArea, markInside, zoneMaskOf } from './cells/zone-mask.js';
import { type MeasuredBatch, type Measurement, QUANTA_PER_METRE } from './contract/measurement.js';

/** Which attributes are counted, by file and zone. */
export interface AttributeCodesParams {
  attributes: Attribute[];
  /** Files (by ordinal) that store scan angles in whole degrees: formats 0 to 5. The others: steps of 0.006 degree. */
  wholeDegrees: number[];
  /** Points outside are not counted; null: all are. */
  within: MaskArea | null;
  /** For `place`: where points must be. */
  area: MaskArea | null;
}

/** What was found under one code in one file. */
interface CodeCount {
  points: number;
  /** The first such point in the file; world metres. */
  first: { x: number; y: number; z: number };
}

/** What the points of one file hold. */
export interface FileAttributes {
  file: number;
  /** Valid points that were counted. */
  points: number;
  withheld: number;
  codes: ReadonlyMap<number, CodeCount>;
  /** Smallest and largest; null when not asked for, or without points. */
  intensity: [number, number] | null;
  /** Largest of red, green and blue; null when not asked for, without points, or when the format has no colour. */
  colourMax: number | null;
  /** Of the finite times other than 0. */
  time: [number, number] | null;
}

/** Counts of codes by file, while they are collected. */
export interface AttributeCodesState {
  attributes: ReadonlySet<Attribute>;
  wholeDegrees: ReadonlySet<number>;
  within: MaskArea | null;
  area: MaskArea | null;
  files: Map<number, CodeTally>;
}

const HEADER = { id: 'attribute-codes', version: 2 } as const satisfies PackedHeader;
const ROW = 6;

const COLUMNS: Record<Attribute, Column | null> = {
  class: 'classification',
  returns: 'returns',
  angle: 'scanAngle',
  source: 'pointSourceId',
  time: 'gpsTime',
  intensity: 'intensity',
  colour: 'colour',
  place: null,
};

/** What attributes the points of each file have: counts by code, the first place of each, extremes of the rest. */
export const attributeCodes: Measurement<
  'attribute-codes',
  AttributeCodesParams,
  AttributeCodesState,
  FileAttributes[]
> = {
  id: HEADER.id,
  parameters: { attributes: 'required', wholeDegrees: 'required', within: 'required', area: 'required' },
  version: HEADER.version,
  columns: ({ attributes }) => attributes.map((a) => COLUMNS[a]).filter((c) => c !== null),

  create: ({ attributes, wholeDegrees, within, area }) => ({
    attributes: new Set(attributes),
    wholeDegrees: new Set(wholeDegrees),
    within,
    area,
    files: new Map(),
  }),

  add: addBatch,

  pack(state) {
    const order = [...state.files.keys()].sort((a, b) => a - b);
    const used = order.map((file) => codesOf(state.files.get(file)!));
    const rows = order.length * (3 + EXTREMES) + used.reduce((sum, codes) => sum + codes.length * ROW, 0);
    const buffer = new ArrayBuffer(headerBytes(1) + rows * 8);
    writeHeader(buffer, HEADER, [order.length]);
    const out = new Float64Array(buffer, headerBytes(1));
    let at = 0;
    order.forEach((file, k) => {
      const f = state.files.get(file)!;
      out.set([file, f.points, used[k].length, ...f.extremes], at);
      at += 3 + EXTREMES;
      for (const c of used[k]) {
        out.set([c, f.counts[c], f.first[c], ...f.places.subarray(c * 3, c * 3 + 3)], at);
        at += ROW;
      }
    });
    return buffer;
  },

  merge(state, packed) {
    const [files] = readHeader(packed, HEADER, 1);
    const from = new Float64Array(packed, headerBytes(1));
    let at = 0;
    for (let k = 0; k < files; k++) {
      const f = open(state, from[at]);
      f.points += from[at + 1];
      const codes = from[at + 2];
      at += 3;
      for (let e = 0; e < EXTREMES; e++) widen(f.extremes, e, from[at + e]);
      at += EXTREMES;
      for (let c = 0; c < codes; c++, at += ROW) {
        const code = from[at];
        f.counts[code] += from[at + 1];
        if (from[at + 2] >= f.first[code]) continue;
        f.first[code] = from[at + 2];
        f.places.set(from.subarray(at + 3, at + 6), code * 3);
      }
    }
  },

  finish: (state) =>
    [...state.files.keys()].sort((a, b) => a - b).map((file) => resultOf(file, state.files.get(file)!)),
};

function codesOf(f: CodeTally): number[] {
  const codes: number[] = [];
  for (let c = 0; c < Code.end; c++) if (f.counts[c] > 0) codes.push(c);
  return codes;
}

function resultOf(file: number, f: CodeTally): FileAttributes {
  const codes = new Map<number, CodeCount>();
  let withheld = 0;
  for (const c of codesOf(f)) {
    const [x, y, z] = f.places.subarray(c * 3, c * 3 + 3);
    codes.set(c, {
      points: f.counts[c],
      first: { x: x / QUANTA_PER_METRE, y: y / QUANTA_PER_METRE, z: z / QUANTA_PER_METRE },
    });
    if (c >= Code.flags && ((c - Code.flags) & 4) !== 0) withheld += f.counts[c];
  }
  const [low, high, colour, begin, end] = f.extremes;
  return {
    file,
    points: f.points,
    withheld,
    codes,
    intensity: Number.isFinite(low) ? [low, high] : null,
    colourMax: Number.isFinite(colour) ? colour : null,
    time: Number.isFinite(begin) ? [begin, end] : null,
  };
}

function open(state: AttributeCodesState, file: number): CodeTally {
  let f = state.files.get(file);
  if (!f) {
    f = createTally();
    state.files.set(file, f);
  }
  return f;
}

/** Extremes 0 and 3 are minima, the others maxima. */
function widen(extremes: Float64Array, which: number, value: number): void {
  if (which === 0 || which === 3 ? value < extremes[which] : value > extremes[which]) extremes[which] = value;
}

// Scratch of this thread, reused by every batch.
let everyone = new Uint8Array(0);
let inZone = new Uint8Array(0);
let inZoneValid = new Uint8Array(0);
let inArea = new Uint8Array(0);

function addBatch(state: AttributeCodesState, batch: MeasuredBatch): void {
  const { count, valid } = batch;
  if (everyone.length < count) {
    everyone = new Uint8Array(count).fill(1);
    inZone = new Uint8Array(count);
    inZoneValid = new Uint8Array(count);
    inArea = new Uint8Array(count);
  }
  if (count === 0) return;
  // null: all points of the batch, which is what most batches are.
  let all: Uint8Array | null = null;
  let marked = batch.withheld === 0 ? null : valid;
  if (state.within) {
    markInside(zoneMaskOf(state.within), batch, everyone, inZone);
    let any = 0;
    for (let i = 0; i < count; i++) {
      inZoneValid[i] = inZone[i] & valid[i];
      any |= inZone[i];
    }
    if (any === 0) return;
    all = inZone;
    marked = inZoneValid;
  }
  let area: Uint8Array | null = null;
  if (state.area) {
    markInside(zoneMaskOf(state.area), batch, marked ?? everyone, inArea);
    area = inArea;
  }
  addAttributes(open(state, batch.file), batch, state.attributes, {
    all,
    marked,
    inArea: area,
    wholeDegrees: state.wholeDegrees.has(batch.file),
  });
}
