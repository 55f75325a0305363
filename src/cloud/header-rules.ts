import { HEADER_SIZES, POINT_FORMATS } from './formats.js';
import type { HeaderFields as Header } from './header-fields.js';
import { type Add, type HeaderFacts, inspectCounts, inspectLayout } from './header-layout.js';
import type { Oddity } from './oddity.js';
import { fixedText } from './text.js';

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
