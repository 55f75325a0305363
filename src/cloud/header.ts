import { Fault } from '../fault.js';
import type { HeaderFields, Triple } from './header-fields.js';
import { inspectHeader } from './header-rules.js';
import { HEADER_SIZES, POINT_FORMATS } from './point-formats.js';
import { fixedText } from './text.js';

export type { FormatIssue, FormatRule } from './format-issue.js';
export type { Triple } from './header-fields.js';

/** See HeaderFields. */
export type Header = HeaderFields;

/** Bytes that hold any header, whatever the version. */
export const HEADER_BYTES_MAX = 393;

export { Encoding } from './header-fields.js';

/**
 * Which point count holds. LAS 1.4 and later: the 64-bit count; but the 32-bit one where only that is set, and, for
 * formats 0 to 5, where the two differ (LAS specification 1.4, "legacy compatibility": a reader uses the legacy value and
 * reports the difference), unless the 64-bit one is too large for the legacy field and the file has room for it. Earlier
 * versions have the 32-bit count only.
 */
function effectiveCount(
  wide: number,
  legacy: number,
  format: number,
  hasWide: boolean,
  room: number,
): 'wide' | 'legacy' {
  if (!hasWide) return 'legacy';
  if (wide > 0xffffffff && wide <= room) return 'wide';
  if (legacy === 0 || wide === legacy) return 'wide';
  return wide === 0 || format <= 5 ? 'legacy' : 'wide';
}

function u64(view: DataView, at: number): number {
  return view.getUint32(at, true) + view.getUint32(at + 4, true) * 4294967296;
}

function guidText(bytes: Uint8Array, view: DataView): string {
  const hex = (n: number, width: number) => n.toString(16).padStart(width, '0');
  const tail = Array.from(bytes.subarray(16, 24), (b) => hex(b, 2));
  const head = `${hex(view.getUint32(8, true), 8)}-${hex(view.getUint16(12, true), 4)}-${hex(view.getUint16(14, true), 4)}`;
  return `${head}-${tail.slice(0, 2).join('')}-${tail.slice(2).join('')}`;
}

/** Throws a Fault where the points cannot be read. */
function refuse(bytes: Uint8Array, view: DataView, fileSize: number, where: string): void {
  const signature = fixedText(bytes, 0, 4).text;
  if (bytes.length < 4 || signature !== 'LASF') {
    const found = bytes.length < 4 ? `${bytes.length} bytes` : JSON.stringify(signature);
    throw new Fault({
      code: 'not-a-cloud',
      what: 'this is not a LAS or LAZ file',
      where,
      found,
      expected: '"LASF"',
      rule: 'signature',
      offset: 0,
    });
  }
  if (bytes.length < HEADER_SIZES[0]) {
    throw new Fault({
      code: 'header-too-short',
      what: 'the file ends inside its header',
      where,
      found: bytes.length,
      expected: `at least ${HEADER_SIZES[0]} bytes`,
      rule: 'header-cut',
      offset: bytes.length,
      advice: 'The transfer was probably cut short: copy the file again.',
    });
  }
  const format = bytes[104] & 0x3f;
  const rules = POINT_FORMATS[format];
  if (!rules) {
    throw new Fault({
      code: 'point-format-unknown',
      what: 'the point data record format does not exist',
      where,
      found: format,
      expected: '0 to 10',
      rule: 'format-unknown',
      offset: 104,
    });
  }
  const recordLength = view.getUint16(105, true);
  if (recordLength < rules.minLength) {
    throw new Fault({
      code: 'record-length-short',
      what: `a point record is shorter than format ${format} needs`,
      where,
      found: recordLength,
      expected: `at least ${rules.minLength} bytes`,
      rule: 'record-length',
      offset: 105,
    });
  }
  const pointOffset = view.getUint32(96, true);
  if (pointOffset > fileSize) {
    throw new Fault({
      code: 'points-outside-file',
      what: 'the points are said to start behind the end of the file',
      where,
      found: pointOffset,
      expected: `at most ${fileSize}`,
      rule: 'points-outside-file',
      offset: 96,
      advice: 'The transfer was probably cut short: copy the file again.',
    });
  }
}

function parse(bytes: Uint8Array, fileSize: number, where = 'header'): Header {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  refuse(bytes, view, fileSize, where);
  const triple = (at: number): Triple => [0, 8, 16].map((d) => view.getFloat64(at + d, true)) as Triple;
  // Maxima and minima alternate: max x, min x, max y, min y, max z, min z.
  const box = (at: number): Triple => [0, 16, 32].map((d) => view.getFloat64(at + d, true)) as Triple;
  const list = (n: number, read: (i: number) => number) => Array.from({ length: n }, (_, i) => read(i));

  const versionMajor = bytes[24];
  const versionMinor = bytes[25];
  const headerSize = view.getUint16(94, true);
  // A field counts as present when the version has it and both the stated header and the file reach that far.
  const reach = Math.min(bytes.length, headerSize);
  const has = (minor: number) => versionMinor >= minor && reach >= HEADER_SIZES[minor];
  const wide = has(4);
  const format = bytes[104] & 0x3f;
  const legacyPointCount = view.getUint32(107, true);
  const legacyPointsByReturn = list(5, (i) => view.getUint32(111 + 4 * i, true));
  const widePointCount = wide ? u64(view, 247) : 0;
  const widePointsByReturn = wide ? list(15, (i) => u64(view, 255 + 8 * i)) : [];
  const packed = (bytes[104] & 0x80) !== 0;
  const room = packed ? 0 : (fileSize - view.getUint32(96, true)) / view.getUint16(105, true);
  const holds = effectiveCount(widePointCount, legacyPointCount, format, wide, room);

  const header: Header = {
    versionMajor,
    versionMinor,
    fileSourceId: view.getUint16(4, true),
    globalEncoding: view.getUint16(6, true),
    guid: guidText(bytes, view),
    systemIdentifier: fixedText(bytes, 26, 32).text,
    generatingSoftware: fixedText(bytes, 58, 32).text,
    creationDay: view.getUint16(90, true),
    creationYear: view.getUint16(92, true),
    headerSize,
    pointOffset: view.getUint32(96, true),
    vlrCount: view.getUint32(100, true),
    pointFormat: format,
    compressed: (bytes[104] & 0x80) !== 0,
    recordLength: view.getUint16(105, true),
    legacyPointCount,
    legacyPointsByReturn,
    pointCount: holds === 'wide' ? widePointCount : legacyPointCount,
    pointsByReturn: holds === 'wide' ? widePointsByReturn : [...legacyPointsByReturn, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0],
    pointCountAt: holds === 'wide' ? 247 : 107,
    scale: triple(131),
    offset: triple(155),
    max: box(179),
    min: box(187),
    waveformStart: has(3) ? u64(view, 227) : 0,
    evlrStart: wide ? u64(view, 235) : 0,
    evlrCount: wide ? view.getUint32(243, true) : 0,
    gpsTimeMax: has(5) ? view.getFloat64(375, true) : null,
    gpsTimeMin: has(5) ? view.getFloat64(383, true) : null,
    timeOffset: has(5) ? view.getUint16(391, true) : null,
    formatIssues: [],
  };
  header.formatIssues = inspectHeader(header, bytes, { fileSize, wide, widePointCount, widePointsByReturn });
  return header;
}

/** Reading of the public header block. */
export const Header = {
  /**
   * Parses the header at the start of a file. What is odd is listed in `formatIssues`; only what makes the points unreadable
   * is thrown.
   * @param bytes the first bytes of the file, HEADER_BYTES_MAX of them or the whole file if it is shorter
   * @param fileSize bytes in the whole file
   * @param where name of the file, for messages
   * @throws Fault not-a-cloud, header-too-short, point-format-unknown, record-length-short, points-outside-file
   */
  parse,
};
