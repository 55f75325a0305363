import type { ReportIssue } from './format-issue.js';
import { Encoding, type HeaderFields as Header } from './header-fields.js';
import { POINT_FORMATS } from './point-formats.js';

/** What the rules need beside the parsed fields. */
export interface HeaderFacts {
  fileSize: number;
  /** Whether the file has the 64-bit counts of LAS 1.4. */
  wide: boolean;
  widePointCount: number;
  widePointsByReturn: number[];
}

const UINT32_MAX = 4294967295;

/** Rules about the numbers of points: all, by return, and in the legacy fields. */
export function inspectCounts(h: Header, facts: HeaderFacts, add: ReportIssue): void {
  if (!Number.isSafeInteger(h.pointCount)) {
    add('count-inexact', h.pointCountAt, String(h.pointCount), 'below 2^53', 'the number of points cannot be true');
  }
  const sum = h.pointsByReturn.reduce((a, b) => a + b, 0);
  // A legacy count of format 6 and later is wrong as such; its five numbers by return cannot hold all fifteen.
  if (sum !== h.pointCount && (h.pointCountAt === 247 || h.pointFormat <= 5)) {
    const at = h.pointCountAt === 247 ? 255 : 111;
    const text = 'the numbers of points by return do not add up to the number of points';
    add('count-by-return', at, sum, h.pointCount, text);
  }
  if (facts.wide) inspectLegacyCounts(h, facts, add);
}

function inspectLegacyCounts(h: Header, facts: HeaderFacts, add: ReportIssue): void {
  const { widePointCount, widePointsByReturn } = facts;
  const { legacyPointCount, legacyPointsByReturn } = h;
  const any = legacyPointCount !== 0 || legacyPointsByReturn.some((n) => n !== 0);
  if (!any) return;
  if (widePointCount === 0 && legacyPointCount !== 0) {
    const text = 'the 64-bit number of points is not set; the legacy number is used';
    add('count-missing', 247, 0, legacyPointCount, text);
  } else if (h.pointFormat >= 6) {
    const text = `legacy counts must be zero for point format ${h.pointFormat}`;
    add('count-legacy-format', 107, legacyPointCount, 0, text);
  } else if (widePointCount > UINT32_MAX) {
    const text = 'legacy counts must be zero for more than 4,294,967,295 points';
    add('count-legacy-large', 107, legacyPointCount, 0, text);
  } else if (legacyPointCount !== widePointCount) {
    const text = 'the two numbers of points in the header differ';
    add('count-legacy-differs', 107, legacyPointCount, widePointCount, text);
  } else if (legacyPointsByReturn.some((n, i) => n !== widePointsByReturn[i])) {
    const five = (list: number[]) => list.slice(0, 5).join(' ');
    const text = 'the two sets of numbers by return differ';
    add('count-legacy-differs', 111, five(legacyPointsByReturn), five(widePointsByReturn), text);
  }
}

/** Rules about where points, extended records and waveforms are in the file. */
export function inspectLayout(h: Header, facts: HeaderFacts, add: ReportIssue): void {
  if (h.pointOffset < h.headerSize) {
    const text = 'the points are said to start inside the header';
    add('point-offset', 96, h.pointOffset, `at least ${h.headerSize}`, text);
  }
  // An impossible count has its own rule; no file would be large enough for it.
  if (!h.compressed && Number.isSafeInteger(h.pointCount)) inspectPointBytes(h, facts.fileSize, add);
  if (h.versionMinor >= 3) inspectWaveformStart(h, facts.fileSize, add);
  if (facts.wide) inspectEvlrStart(h, facts.fileSize, add);
}

function inspectPointBytes(h: Header, fileSize: number, add: ReportIssue): void {
  const marks = [fileSize, h.evlrStart, h.waveformStart].filter((p) => p >= h.pointOffset && p > 0 && p <= fileSize);
  const end = Math.min(...marks);
  const need = h.pointOffset + h.pointCount * h.recordLength;
  if (need > end) {
    const room = Math.floor((end - h.pointOffset) / h.recordLength);
    const text = 'more points are announced than the file has room for';
    add('points-beyond-file', h.pointCountAt, h.pointCount, `at most ${room}`, text);
  } else if (need < end) {
    const text = `${end - need} bytes follow the last point that belong to nothing`;
    add('bytes-after-points', need, end - need, 0, text);
  }
}

function inspectWaveformStart(h: Header, fileSize: number, add: ReportIssue): void {
  const inside = (h.globalEncoding & Encoding.waveformInside) !== 0;
  const beside = (h.globalEncoding & Encoding.waveformOutside) !== 0;
  const waves = POINT_FORMATS[h.pointFormat].waveform >= 0;
  if (waves && !inside && !beside) {
    const text = `point format ${h.pointFormat} refers to waveforms, but the header says neither that they are inside nor beside the file`;
    add('waveform-nowhere', 6, 'bits 1 and 2 clear', 'one of them set', text);
  }
  if (!inside && h.waveformStart !== 0) {
    const text = 'a start of waveform data is given though none is inside the file';
    add('waveform-start-set', 227, h.waveformStart, 0, text);
  } else if (inside && waves && (h.waveformStart < h.pointOffset || h.waveformStart + 60 > fileSize)) {
    const text = 'waveform data is said to be inside the file, but not where';
    add('waveform-start', 227, h.waveformStart, 'a position behind the points', text);
  }
}

function inspectEvlrStart(h: Header, fileSize: number, add: ReportIssue): void {
  if (h.evlrCount === 0) {
    if (h.evlrStart === 0) return;
    const text = 'a start of extended records is given though there are none';
    add('evlr-start-set', 235, h.evlrStart, 0, text);
  } else if (h.evlrStart < h.pointOffset || h.evlrStart + 60 > fileSize) {
    const text = 'the extended records are not where the header says';
    add('evlr-start', 235, h.evlrStart, 'a position behind the points', text);
  }
}
