import { ALL_COLUMNS } from '../cloud/columns.js';
import type { PackedHeader } from './cells/packed-header.js';
import { packRows, visitRows } from './cells/packed-rows.js';
import type { Measurement } from './contract/measurement.js';

/** An attribute of the extra bytes, as its descriptor places it. */
export interface ExtraField {
  /** Byte position in the extra bytes of a point. */
  offset: number;
  /** Type number of the descriptor, 1 to 30. */
  type: number;
  /** Stored values that stand for "no value", one a member; null where the descriptor gives none. */
  noData: readonly number[] | null;
}

/** Attributes of the extra bytes whose extremes are wanted. */
export interface StructureParams {
  /** Files with the attributes of the extra bytes whose extremes are wanted, by number of the file. */
  fields: readonly { file: number; fields: readonly ExtraField[] }[];
  /** Decode every column, so that damage in any layer of a compressed chunk is found; otherwise only what `fields` need. */
  everyLayer?: boolean;
}

/** Facts on the structure of one file that only its points show. */
export interface StructureFacts {
  file: number;
  /** COPC: points outside the cube of their node. */
  outsideNode: number;
  /** Stored extremes of each attribute, one pair a member; null when it has no value at all. */
  extremes: ([number, number] | null)[][];
}

/** Figures by file, while they are collected. */
export interface StructureState {
  params: StructureParams;
  /** By file: outsideNode, then minimum and maximum of every member of every attribute. */
  files: Map<number, Float64Array>;
}

const HEADER = { id: 'structure-facts', version: 2 } as const satisfies PackedHeader;

/** Points outside their COPC node, and extremes of extra bytes. Points that are withheld count too. */
export const structureFacts: Measurement<'structure-facts', StructureParams, StructureState, StructureFacts[]> = {
  id: HEADER.id,
  parameters: { fields: 'required', everyLayer: 'optional' },
  version: HEADER.version,
  columns: ({ fields, everyLayer }) => (everyLayer ? ALL_COLUMNS : fields.length > 0 ? ['extra'] : []),
  create: (params) => ({ params, files: new Map() }),

  add(state, { points, file }) {
    const figures = open(state, file);
    figures[0] += points.outsideNode ?? 0;
    if (!points.has.has('extra') || figures.length === 1) return;
    let at = 1;
    for (const { offset, type, noData } of fieldsOf(state.params, file)) {
      const kind = KINDS[(type - 1) % 10];
      for (let member = 0; member < membersOf(type); member++, at += 2) {
        const step = points.extraLength;
        const begin = offset + member * kind.size;
        if (begin + kind.size > step) continue;
        const view = new DataView(points.extra.buffer, points.extra.byteOffset, points.extra.byteLength);
        widen(figures, at, view, points.count, begin, step, kind.read, noData === null ? Number.NaN : noData[member]);
      }
    }
  },

  pack: ({ files }) => packRows(HEADER, files),

  merge(state, packed) {
    visitRows(packed, HEADER, (file, theirs) => {
      const ours = open(state, file);
      ours[0] += theirs[0];
      for (let k = 1; k + 1 < theirs.length; k += 2) {
        ours[k] = Math.min(ours[k], theirs[k]);
        ours[k + 1] = Math.max(ours[k + 1], theirs[k + 1]);
      }
    });
  },

  finish: (state) =>
    [...state.files.entries()]
      .sort(([a], [b]) => a - b)
      .map(([file, figures]) => {
        let at = 1;
        const extremes = fieldsOf(state.params, file).map(({ type }) =>
          Array.from({ length: membersOf(type) }, (): [number, number] | null => {
            const pair: [number, number] = [figures[at], figures[at + 1]];
            at += 2;
            return pair[0] <= pair[1] ? pair : null;
          }),
        );
        return { file, outsideNode: figures[0], extremes };
      }),
};

function open({ params, files }: StructureState, file: number): Float64Array {
  let figures = files.get(file);
  if (figures) return figures;
  const members = fieldsOf(params, file).reduce((sum, { type }) => sum + membersOf(type), 0);
  figures = new Float64Array(1 + 2 * members);
  for (let k = 1; k < figures.length; k += 2) {
    figures[k] = Number.POSITIVE_INFINITY;
    figures[k + 1] = Number.NEGATIVE_INFINITY;
  }
  files.set(file, figures);
  return figures;
}

function fieldsOf({ fields }: StructureParams, file: number): readonly ExtraField[] {
  return fields.find((f) => f.file === file)?.fields ?? [];
}

function membersOf(type: number): number {
  return Math.floor((type - 1) / 10) + 1;
}

function widen(
  figures: Float64Array,
  at: number,
  view: DataView,
  count: number,
  begin: number,
  step: number,
  read: (view: DataView, at: number) => number,
  noData: number,
): void {
  let low = figures[at];
  let high = figures[at + 1];
  for (let i = 0, p = begin; i < count; i++, p += step) {
    // Zero has one sign only, so that the order of points cannot matter.
    const value = read(view, p) + 0;
    if (value === noData) continue;
    if (value < low) low = value;
    if (value > high) high = value;
  }
  figures[at] = low;
  figures[at + 1] = high;
}

/** Types 1 to 10 (LAS 1.4 R16, Extra Bytes, data_type); 11 to 30 are pairs and triples of them. */
const KINDS: readonly { size: number; read: (view: DataView, at: number) => number }[] = [
  { size: 1, read: (v, p) => v.getUint8(p) },
  { size: 1, read: (v, p) => v.getInt8(p) },
  { size: 2, read: (v, p) => v.getUint16(p, true) },
  { size: 2, read: (v, p) => v.getInt16(p, true) },
  { size: 4, read: (v, p) => v.getUint32(p, true) },
  { size: 4, read: (v, p) => v.getInt32(p, true) },
  { size: 8, read: (v, p) => v.getUint32(p, true) + v.getUint32(p + 4, true) * 4294967296 },
  { size: 8, read: (v, p) => v.getUint32(p, true) + v.getInt32(p + 4, true) * 4294967296 },
  { size: 4, read: (v, p) => v.getFloat32(p, true) },
  { size: 8, read: (v, p) => v.getFloat64(p, true) },
];
