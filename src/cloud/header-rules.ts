import { HEADER_SIZES, POINT_FORMATS } from './formats.js';
import type { Header } from './header.js';
import type { Oddity, OddityRule } from './oddity.js';
import { fixedText } from './text.js';

/** What the rules need beside the parsed fields. */
export interface HeaderFacts {
  fileSize: number;
  /** Whether the file has the 64-bit counts of LAS 1.4. */
  wide: boolean;
  widePointCount: number;
  widePointsByReturn: number[];
}

type Add = (rule: OddityRule, offset: number, found: string | number, expected: string | number, text: string) => void;

/**
 * Compares a header with the rules of its version: LAS specification 1.4 revision 16 and 1.5 (ASPRS), sections "public
 * header block" and "legacy compatibility"; header sizes before 1.4 from those versions' own text.
 */
export function inspectHeader(header: Header, bytes: Uint8Array, facts: HeaderFacts): Oddity[] {
  const oddities: Oddity[] = [];
  const add: Add = (rule, offset, found, expected, text) => oddities.push({ rule, offset, found, expected, text });
  inspectIdentity(header, bytes, add);
  inspectEncoding(header, add);
  inspectCounts(header, facts, add);
  inspectBox(header, add);
  inspectLayout(header, facts, add);
  return oddities;
}

function inspectIdentity(h: Header, bytes: Uint8Array, add: Add): void {
  const version = `${h.versionMajor}.${h.versionMinor}`;
  if (h.versionMajor !== 1 || h.versionMinor > 5) {
    add('version', 24, version, '1.0 to 1.5', `the header says LAS ${version}, which is not a published version`);
  }
  const size = HEADER_SIZES[h.versionMinor];
  // Headers longer than the version's were allowed to hold private data up to 1.3; 1.4 forbids it.
  if (h.versionMajor === 1 && size !== undefined && h.headerSize !== size) {
    add(
      'header-size',
      94,
      h.headerSize,
      size,
      `the header is said to be ${h.headerSize} bytes long, LAS ${version} has ${size}`,
    );
  }
  for (const [at, name] of [
    [26, 'system identifier'],
    [58, 'generating software'],
  ] as const) {
    if (!fixedText(bytes, at, 32).padded) {
      add('header-text', at, 'text behind the terminator', 'zero bytes', `the ${name} is not filled up with zeros`);
    }
  }
  if (h.creationDay < 1 || h.creationDay > 366) {
    add('creation-date', 90, h.creationDay, '1 to 366', 'the creation day is not a day of a year');
  }
  if (h.creationYear < 1000 || h.creationYear > 9999) {
    add('creation-date', 92, h.creationYear, 'four digits', 'the creation year is not given in four digits');
  }
  if (bytes[104] & 0x40) {
    add(
      'format-bits',
      104,
      bytes[104],
      bytes[104] & 0xbf,
      'bit 6 of the point format byte is set, which marks nothing',
    );
  }
  const since = POINT_FORMATS[h.pointFormat].since;
  if (h.versionMinor < since) {
    add(
      'format-for-version',
      104,
      h.pointFormat,
      `a format of LAS ${version}`,
      `point format ${h.pointFormat} came with LAS 1.${since}`,
    );
  } else if (h.versionMinor === 5 && h.pointFormat < 6) {
    add('format-for-version', 104, h.pointFormat, '6 to 10', 'LAS 1.5 has dropped point formats 0 to 5');
  }
}

function inspectEncoding(h: Header, add: Add): void {
  const known = [0, 0, 0x01, 0x0f, 0x1f, 0x7f][Math.min(h.versionMinor, 5)];
  const hex = (n: number) => `0x${n.toString(16).padStart(4, '0')}`;
  if (h.versionMinor >= 2 && (h.globalEncoding & ~known) !== 0) {
    add(
      'encoding-reserved',
      6,
      hex(h.globalEncoding),
      hex(h.globalEncoding & known),
      'reserved bits of the global encoding are set',
    );
  }
  if ((h.globalEncoding & 6) === 6) {
    add(
      'encoding-waveform',
      6,
      'inside and outside',
      'one of them',
      'waveforms are said to be both inside the file and beside it',
    );
  }
  if (h.pointFormat >= 6 && (h.globalEncoding & 16) === 0) {
    add(
      'encoding-wkt',
      6,
      'bit 4 clear',
      'bit 4 set',
      `point format ${h.pointFormat} needs its coordinate system as WKT`,
    );
  }
  if (h.versionMinor === 5 && (h.globalEncoding & 0x40) !== 0 && (h.globalEncoding & 1) === 0) {
    add('time-offset', 6, 'bit 6 without bit 0', 'both', 'a time offset needs standard GPS time');
  }
  if (h.versionMinor === 5 && (h.globalEncoding & 0x40) === 0 && (h.timeOffset ?? 0) !== 0) {
    add(
      'time-offset',
      391,
      h.timeOffset ?? 0,
      0,
      'a time offset is given while bit 6 of the encoding says there is none',
    );
  }
}

function inspectCounts(h: Header, facts: HeaderFacts, add: Add): void {
  const { wide, widePointCount, widePointsByReturn } = facts;
  if (!Number.isSafeInteger(h.pointCount)) {
    add('count-inexact', h.pointCountAt, String(h.pointCount), 'below 2^53', 'the number of points cannot be true');
  }
  const sum = h.pointsByReturn.reduce((a, b) => a + b, 0);
  // Legacy by-return counts have no place for returns beyond the fifth.
  if (h.pointCountAt === 247 ? sum !== h.pointCount : sum > h.pointCount) {
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

function inspectBox(h: Header, add: Add): void {
  for (const [i, axis] of ['x', 'y', 'z'].entries()) {
    const scaleAt = 131 + 8 * i;
    if (!Number.isFinite(h.scale[i]) || h.scale[i] <= 0) {
      add('scale', scaleAt, String(h.scale[i]), 'a positive number', `the ${axis} scale is unusable`);
    }
    if (!Number.isFinite(h.offset[i])) {
      add('scale', 155 + 8 * i, String(h.offset[i]), 'a finite number', `the ${axis} offset is unusable`);
    }
    const maxAt = 179 + 16 * i;
    const [min, max] = [h.min[i], h.max[i]];
    if (!Number.isFinite(min) || !Number.isFinite(max)) {
      add(
        'box-not-finite',
        maxAt,
        `${min} to ${max}`,
        'finite numbers',
        `the header's ${axis} range is not made of numbers`,
      );
    } else if (h.pointCount === 0 && (min !== 0 || max !== 0)) {
      add('box-empty', maxAt, `${min} to ${max}`, '0 to 0', `without points the header's ${axis} range must be zero`);
    } else if (min > max) {
      add(
        'box-order',
        maxAt,
        `${min} to ${max}`,
        'minimum below maximum',
        `the header's ${axis} range is turned round`,
      );
    }
  }
  if (h.gpsTimeMin !== null && h.gpsTimeMax !== null && !(h.gpsTimeMin <= h.gpsTimeMax)) {
    add(
      'box-order',
      375,
      `${h.gpsTimeMin} to ${h.gpsTimeMax}`,
      'minimum below maximum',
      "the header's GPS time range is turned round",
    );
  }
}

function inspectLayout(h: Header, facts: HeaderFacts, add: Add): void {
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
