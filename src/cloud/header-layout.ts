import { POINT_FORMATS } from './formats.js';
import type { HeaderFields as Header } from './header-fields.js';
import type { OddityRule } from './oddity.js';

/** What the rules need beside the parsed fields. */
export interface HeaderFacts {
  fileSize: number;
  /** Whether the file has the 64-bit counts of LAS 1.4. */
  wide: boolean;
  widePointCount: number;
  widePointsByReturn: number[];
}

/** Notes one oddity. */
export type Add = (
  rule: OddityRule,
  offset: number,
  found: string | number,
  expected: string | number,
  text: string,
) => void;

/** Rules about the numbers of points: all, by return, and in the legacy fields. */
export function inspectCounts(h: Header, facts: HeaderFacts, add: Add): void {
  const { wide, widePointCount, widePointsByReturn } = facts;
  if (!Number.isSafeInteger(h.pointCount)) {
    add('count-inexact', h.pointCountAt, String(h.pointCount), 'below 2^53', 'the number of points cannot be true');
  }
  const sum = h.pointsByReturn.reduce((a, b) => a + b, 0);
  // A legacy count of format 6 and later is wrong as such; its five numbers by return cannot hold all fifteen.
  if (sum !== h.pointCount && (h.pointCountAt === 247 || h.pointFormat <= 5)) {
    const at = h.pointCountAt === 247 ? 255 : 111;
    add(
      'count-by-return',
      at,
      sum,
      h.pointCount,
      'the numbers of points by return do not add up to the number of points',
    );
  }
  if (!wide) return;
  const legacyAny = h.legacyPointCount !== 0 || h.legacyPointsByReturn.some((n) => n !== 0);
  if (widePointCount === 0 && h.legacyPointCount !== 0) {
    add(
      'count-missing',
      247,
      0,
      h.legacyPointCount,
      'the 64-bit number of points is not set; the legacy number is used',
    );
  } else if (h.pointFormat >= 6 && legacyAny) {
    add(
      'count-legacy-format',
      107,
      h.legacyPointCount,
      0,
      `legacy counts must be zero for point format ${h.pointFormat}`,
    );
  } else if (widePointCount > 4294967295 && legacyAny) {
    add(
      'count-legacy-large',
      107,
      h.legacyPointCount,
      0,
      'legacy counts must be zero for more than 4,294,967,295 points',
    );
  } else if (legacyAny) {
    const sameReturns = h.legacyPointsByReturn.every((n, i) => n === widePointsByReturn[i]);
    if (h.legacyPointCount !== widePointCount) {
      add(
        'count-legacy-differs',
        107,
        h.legacyPointCount,
        widePointCount,
        'the two numbers of points in the header differ',
      );
    } else if (!sameReturns) {
      const five = (list: number[]) => list.slice(0, 5).join(' ');
      add(
        'count-legacy-differs',
        111,
        five(h.legacyPointsByReturn),
        five(widePointsByReturn),
        'the two sets of numbers by return differ',
      );
    }
  }
}

/** Rules about where points, extended records and waveforms stand in the file. */
export function inspectLayout(h: Header, facts: HeaderFacts, add: Add): void {
  const { fileSize } = facts;
  if (h.pointOffset < h.headerSize + 54 * h.vlrCount) {
    const least = h.headerSize + 54 * h.vlrCount;
    add(
      'point-offset',
      96,
      h.pointOffset,
      `at least ${least}`,
      'the points start before header and records can have ended',
    );
  }
  if (!h.compressed) {
    const marks = [fileSize, h.evlrStart, h.waveformStart].filter((p) => p >= h.pointOffset && p > 0 && p <= fileSize);
    const end = Math.min(...marks);
    const need = h.pointOffset + h.pointCount * h.recordLength;
    const room = Math.floor((end - h.pointOffset) / h.recordLength);
    if (need > end) {
      add(
        'points-beyond-file',
        h.pointCountAt,
        h.pointCount,
        `at most ${room}`,
        'more points are announced than the file has room for',
      );
    } else if (need < end) {
      add(
        'bytes-after-points',
        need,
        end - need,
        0,
        `${end - need} bytes follow the last point that belong to nothing`,
      );
    }
  }
  const waves = POINT_FORMATS[h.pointFormat].waveform >= 0;
  if (h.versionMinor >= 3) {
    const inside = (h.globalEncoding & 2) !== 0;
    if (!inside && h.waveformStart !== 0) {
      add(
        'waveform-start',
        227,
        h.waveformStart,
        0,
        'a start of waveform data is given though none is inside the file',
      );
    } else if (inside && waves && (h.waveformStart === 0 || h.waveformStart >= fileSize)) {
      add(
        'waveform-start',
        227,
        h.waveformStart,
        'a position in the file',
        'waveform data is said to be inside the file, but not where',
      );
    }
  }
  if (facts.wide) {
    if (h.evlrCount === 0 && h.evlrStart !== 0) {
      add('evlr-start', 235, h.evlrStart, 0, 'a start of extended records is given though there are none');
    } else if (h.evlrCount > 0 && (h.evlrStart < h.pointOffset || h.evlrStart + 60 > fileSize)) {
      add(
        'evlr-start',
        235,
        h.evlrStart,
        'a position behind the points',
        'the extended records are not where the header says',
      );
    }
  }
}
