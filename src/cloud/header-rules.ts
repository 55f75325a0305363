import { collectFormatIssues, type FormatIssue, type ReportIssue } from './format-issue.js';
import { inspectBox } from './header-box.js';
import type { HeaderFields as Header } from './header-fields.js';
import { type HeaderFacts, inspectCounts, inspectLayout } from './header-layout.js';
import { HEADER_SIZES, POINT_FORMATS } from './point-formats.js';
import { fixedText, isPlainAscii } from './text.js';

/**
 * Compares a header with the rules of its version: LAS specification 1.4 revision 16 and 1.5 (ASPRS), sections "public
 * header block" and "legacy compatibility"; header sizes before 1.4 from those versions' own text.
 */
export function inspectHeader(header: Header, bytes: Uint8Array, facts: HeaderFacts): FormatIssue[] {
  const { formatIssues, add } = collectFormatIssues();
  inspectIdentity(header, bytes, add);
  inspectTexts(bytes, add);
  inspectDate(header, add);
  inspectFormat(header, bytes, add);
  inspectEncoding(header, add);
  inspectCounts(header, facts, add);
  inspectBox(header, add);
  inspectLayout(header, facts, add);
  return formatIssues;
}

function inspectIdentity(h: Header, bytes: Uint8Array, add: ReportIssue): void {
  const version = `${h.versionMajor}.${h.versionMinor}`;
  if (h.versionMajor !== 1 || h.versionMinor > 5) {
    add('version', 24, version, '1.0 to 1.5', `the header says LAS ${version}, which is not a published version`);
    return;
  }
  const size = HEADER_SIZES[h.versionMinor];
  const text = `the header is said to be ${h.headerSize} bytes long, LAS ${version} has ${size}`;
  if (h.headerSize < size) add('header-size', 94, h.headerSize, size, text);
  // Up to 1.3 a longer header could hold private data; 1.4 forbids it.
  if (h.headerSize > size) add('header-longer', 94, h.headerSize, size, text);
  if (h.versionMinor === 0 && bytes.subarray(4, 8).some((b) => b !== 0)) {
    add('header-reserved', 4, 'other bytes', 'zero', 'bytes 4 to 7 are reserved in LAS 1.0');
  }
}

function inspectTexts(bytes: Uint8Array, add: ReportIssue): void {
  for (const [at, name] of [
    [26, 'system identifier'],
    [58, 'generating software'],
  ] as const) {
    const { text, padded } = fixedText(bytes, at, 32);
    if (!padded) {
      add('header-text', at, 'text behind the terminator', 'zero bytes', `the ${name} is not filled up with zeros`);
    }
    if (text.trim() === '') add('header-text-empty', at, 'nothing', 'a text', `the ${name} is empty`);
    else if (!isPlainAscii(text)) {
      add('header-text-ascii', at, text, 'ASCII characters', `the ${name} has characters other than printable ASCII`);
    }
  }
}

function inspectDate({ creationDay: day, creationYear: year }: Header, add: ReportIssue): void {
  const known = year >= 1000 && year <= 9999;
  if (!known) add('creation-year', 92, year, 'four digits', 'the creation year is not given in four digits');
  const days = known && !isLeapYear(year) ? 365 : 366;
  if (day < 1 || day > days) add('creation-day', 90, day, `1 to ${days}`, 'the creation day is not a day of the year');
}

function isLeapYear(year: number): boolean {
  return (year % 4 === 0 && year % 100 !== 0) || year % 400 === 0;
}

function inspectFormat(h: Header, bytes: Uint8Array, add: ReportIssue): void {
  const { pointFormat, versionMinor } = h;
  if (bytes[104] & 0x40) {
    const text = 'bit 6 of the point format byte is set, which marks nothing';
    add('format-bits', 104, bytes[104], bytes[104] & 0xbf, text);
  }
  const since = POINT_FORMATS[pointFormat].since;
  if (versionMinor < since) {
    const text = `point format ${pointFormat} came with LAS 1.${since}`;
    add('format-for-version', 104, pointFormat, `a format of LAS 1.${versionMinor}`, text);
  } else if (versionMinor === 5 && pointFormat < 6) {
    add('format-for-version', 104, pointFormat, '6 to 10', 'LAS 1.5 has dropped point formats 0 to 5');
  }
}

/** Bits of the global encoding that each minor version defines. */
const DEFINED_BITS = [0xffff, 0x00, 0x01, 0x0f, 0x1f, 0x5f];

function inspectEncoding(h: Header, add: ReportIssue): void {
  const known = DEFINED_BITS[Math.min(h.versionMinor, 5)];
  const hex = (n: number) => `0x${n.toString(16).padStart(4, '0')}`;
  if ((h.globalEncoding & ~known) !== 0) {
    const text = 'reserved bits of the global encoding are set';
    add('encoding-reserved', 6, hex(h.globalEncoding), hex(h.globalEncoding & known), text);
  }
  if (h.versionMinor >= 3 && (h.globalEncoding & 6) === 6) {
    const text = 'waveforms are said to be both inside the file and beside it';
    add('encoding-waveform', 6, 'inside and outside', 'one of them', text);
  }
  if (h.pointFormat >= 6 && (h.globalEncoding & 16) === 0) {
    const text = `point format ${h.pointFormat} needs its coordinate system as WKT`;
    add('encoding-wkt', 6, 'bit 4 clear', 'bit 4 set', text);
  }
  if (h.timeOffset === null) return;
  const flag = (h.globalEncoding & 0x40) !== 0;
  if (flag && (h.globalEncoding & 1) === 0) {
    add('time-offset-flag', 6, 'bit 6 without bit 0', 'both', 'a time offset needs standard GPS time');
  }
  if (!flag && h.timeOffset !== 0) {
    const text = 'a time offset is given while bit 6 of the encoding says there is none';
    add('time-offset', 391, h.timeOffset, 0, text);
  }
}
