import type { Break } from './breaks.js';
import { At, append, changed, insertBeforePoints, oneOf, putText, whole } from './edit.js';
import type { SoundClouds } from './sound-clouds.js';

const letters = (length: number, pick: () => number) =>
  Array.from({ length }, () => String.fromCharCode(65 + pick())).join('');

/** Files that break one rule about the public header block. */
export const headerBreaks: Break[] = [
  [
    'LAS-HDR-01',
    'other letters than LASF',
    (s, r) => changed(s.las14(), (_, b) => putText(b, 0, 4, `X${letters(3, () => r.below(26))}`)),
  ],
  ['LAS-HDR-02', 'the end inside the header', (s, r) => s.las14().slice(0, whole(r, 4, 226))],
  [
    'LAS-HDR-03',
    'a version that was never published',
    (s, r) => changed(s.las14(), (_, b) => (b[25] = whole(r, 6, 255))),
  ],
  [
    'LAS-HDR-04',
    'a header shorter than its version',
    (s, r) => changed(s.las12(), (v) => v.setUint16(At.headerSize, whole(r, 200, 226), true)),
  ],
  ['LAS-HDR-05', 'a header longer than its version', (s, r) => longerHeader(s.las14(), whole(r, 1, 40))],
  [
    'LAS-HDR-06',
    'reserved bytes of LAS 1.0',
    (s, r) => changed(s.las10(), (_, b) => (b[whole(r, 4, 7)] = whole(r, 1, 255))),
  ],
  [
    'LAS-HDR-07',
    'text behind the end of a text',
    (s, r) => changed(s.las14(), (_, b) => (b[At.system + whole(r, 8, 31)] = whole(r, 65, 90))),
  ],
  [
    'LAS-HDR-08',
    'no text',
    (s, r) => changed(s.las14(), (_, b) => putText(b, oneOf(r, [At.system, At.software]), 32, '')),
  ],
  [
    'LAS-HDR-09',
    'a letter that is not ASCII',
    (s, r) => changed(s.las14(), (_, b) => (b[oneOf(r, [At.system, At.software])] = whole(r, 0xc0, 0xff))),
  ],
  [
    'LAS-HDR-10',
    'a day that no year has',
    (s, r) => changed(s.las14(), (v) => v.setUint16(At.day, oneOf(r, [0, 366, 367, 65_535]), true)),
  ],
  [
    'LAS-HDR-11',
    'a year of other than four digits',
    (s, r) => changed(s.las14(), (v) => v.setUint16(At.year, oneOf(r, [0, 25, 999, 10_000]), true)),
  ],
  [
    'LAS-HDR-12',
    'a reserved bit',
    (s, r) => changed(s.las14(), (v) => v.setUint16(At.encoding, 0x11 | (1 << whole(r, 5, 15)), true)),
  ],
  ['LAS-HDR-13', 'waveforms inside and beside', (s) => changed(s.las14(), (v) => v.setUint16(At.encoding, 0x17, true))],
  ['LAS-HDR-14', 'no WKT bit', (s) => changed(s.las14(), (v) => v.setUint16(At.encoding, 1, true))],
  [
    'LAS-HDR-15',
    'a time offset for seconds of the week',
    (s, r) =>
      changed(s.las15week(), (v) => {
        v.setUint16(At.encoding, 0x50, true);
        v.setUint16(391, whole(r, 1, 2000), true);
      }),
  ],
  [
    'LAS-HDR-16',
    'a time offset without its flag',
    (s, r) => changed(s.las15(), (v) => v.setUint16(391, whole(r, 1, 2000), true)),
  ],
  [
    'LAS-HDR-17',
    'a format that does not exist',
    (s, r) => changed(s.las14(), (_, b) => (b[At.format] = whole(r, 11, 63))),
  ],
  [
    'LAS-HDR-18',
    'a format younger than the version',
    (s, r) => changed(s.las12({ format: oneOf(r, [2, 3]), gpsTime: 'week' }), (_, b) => (b[At.minor] = 1)),
  ],
  ['LAS-HDR-19', 'bit 6 of the format byte', (s) => changed(s.las14(), (_, b) => (b[At.format] |= 0x40))],
  [
    'LAS-HDR-20',
    'records shorter than their format',
    (s, r) => changed(s.las14(), (v) => v.setUint16(At.recordLength, whole(r, 0, 29), true)),
  ],
  ['LAS-HDR-21', 'points inside the header', (s, r) => pointsInHeader(s, whole(r, 1, 100))],
  [
    'LAS-HDR-22',
    'points behind the end',
    (s, r) => changed(s.las14(), (v, b) => v.setUint32(At.pointOffset, b.length + whole(r, 1, 1000), true)),
  ],
  [
    'LAS-HDR-23',
    'another mark before the points',
    (s, r) => changed(s.las10(), (v, b) => (b[v.getUint32(At.pointOffset, true) - 1] = whole(r, 0, 0xcb))),
  ],
  [
    'LAS-HDR-24',
    'a scale that is none',
    (s, r) =>
      changed(s.las14(), (v) =>
        v.setFloat64(At.scale + 8 * r.below(3), oneOf(r, [0, Number.NaN, Number.POSITIVE_INFINITY]), true),
      ),
  ],
  [
    'LAS-HDR-25',
    'a negative scale',
    (s, r) => changed(s.las14(), (v) => v.setFloat64(At.scale + 8 * r.below(3), -0.01, true)),
  ],
  [
    'LAS-HDR-26',
    'a step of half a metre',
    (s, r) => changed(s.las14(), (v) => v.setFloat64(At.scale + 8 * r.below(3), r.between(0.2, 9), true)),
  ],
  [
    'LAS-HDR-27',
    'an offset that is none',
    (s, r) =>
      changed(s.las14(), (v) =>
        v.setFloat64(At.offset + 8 * r.below(3), oneOf(r, [Number.NaN, Number.NEGATIVE_INFINITY]), true),
      ),
  ],
  [
    'LAS-HDR-28',
    'an extent that cannot be stored',
    (s, r) => changed(s.las14(), (v) => v.setFloat64(At.maxX + 16 * r.below(3), r.between(1e8, 1e12), true)),
  ],
  [
    'LAS-HDR-29',
    'an extent without numbers',
    (s, r) =>
      changed(s.las14(), (v) =>
        v.setFloat64(oneOf(r, [At.maxX, At.minX]) + 16 * r.below(3), oneOf(r, [Number.NaN, Infinity]), true),
      ),
  ],
  ['LAS-HDR-30', 'an extent turned round', (s, r) => turnedRound(s.las14(), At.maxX + 16 * r.below(3))],
  [
    'LAS-HDR-31',
    'an extent of no points',
    (s, r) => changed(s.empty14(), (v) => v.setFloat64(At.maxX + 16 * r.below(3), r.between(1, 1e6), true)),
  ],
  ['LAS-HDR-32', 'a GPS time range turned round', (s) => turnedRound(s.las15(), 375)],
  [
    'LAS-HDR-33',
    'a GPS time range of no points',
    (s, r) => changed(s.empty15(), (v) => v.setFloat64(375, r.between(1, 1e6), true)),
  ],
  [
    'LAS-HDR-34',
    'GPS times longer than a week',
    (s, r) => changed(s.las15week(), (v) => v.setFloat64(375, r.between(604_801, 1e9), true)),
  ],
  [
    'LAS-HDR-35',
    'a number of points beyond all files',
    (s, r) =>
      changed(s.las14(), (v) => {
        const count = 1n << BigInt(whole(r, 54, 63));
        v.setBigUint64(At.count, count, true);
        for (let i = 0; i < 15; i++) v.setBigUint64(At.byReturn + 8 * i, i === 0 ? count : 0n, true);
      }),
  ],
  [
    'LAS-HDR-36',
    'numbers by return that do not add up',
    (s, r) =>
      changed(s.las14(), (v) => v.setBigUint64(At.byReturn + 8 * whole(r, 5, 14), BigInt(whole(r, 1, 9)), true)),
  ],
  [
    'LAS-HDR-37',
    'legacy counts of format 6',
    (s) => s.las14({ headerOverrides: { legacyCount: s.points.count, legacyByReturn: [s.points.count, 0, 0, 0, 0] } }),
  ],
  [
    'LAS-HDR-38',
    'legacy counts of five billion points',
    (s) => fiveBillion(s.las14old()),
    // No file of that size is made: the missing bytes read as zero.
    { size: (b) => new DataView(b.buffer).getUint32(At.pointOffset, true) + 5_000_000_000 * 28 },
  ],
  [
    'LAS-HDR-39',
    'legacy counts by return that differ',
    (s, r) => changed(s.las14old(), (v) => v.setUint32(111 + 4 * whole(r, 3, 4), whole(r, 1, 99), true)),
  ],
  ['LAS-HDR-40', 'no 64-bit count', (s) => changed(s.las14old(), (v) => v.setBigUint64(At.count, 0n, true))],
  ['LAS-HDR-41', 'more points than there is room for', (s, r) => morePoints(s.las14(), whole(r, 1, 1e6))],
  ['LAS-HDR-42', 'bytes behind the last point', (s, r) => append(s.las14(), new Uint8Array(whole(r, 1, 200)))],
  [
    'LAS-HDR-43',
    'waveforms inside, nobody knows where',
    (s) => s.las14waves({ headerOverrides: { globalEncoding: 0x13 } }),
  ],
  [
    'LAS-HDR-44',
    'a start of waveforms that are not there',
    (s, r) => changed(s.las14(), (v) => v.setBigUint64(At.waveformStart, BigInt(whole(r, 1, 400)), true)),
  ],
  [
    'LAS-HDR-45',
    'waveforms neither inside nor beside',
    (s) => s.las14waves({ headerOverrides: { globalEncoding: 0x11 } }),
  ],
  [
    'LAS-HDR-46',
    'extended records behind the end',
    (s, r) =>
      changed(s.las14(), (v, b) => {
        v.setUint32(At.evlrCount, 1, true);
        v.setBigUint64(At.evlrStart, BigInt(b.length + whole(r, 1, 1000)), true);
      }),
  ],
  [
    'LAS-HDR-47',
    'a start of extended records that are not there',
    (s, r) => changed(s.las14(), (v) => v.setBigUint64(At.evlrStart, BigInt(whole(r, 1, 400)), true)),
  ],
];

function longerHeader(bytes: Uint8Array, count: number): Uint8Array {
  const size = new DataView(bytes.buffer).getUint16(At.headerSize, true);
  const longer = insertBeforePoints(bytes, size, count);
  new DataView(longer.buffer).setUint16(At.headerSize, size + count, true);
  return longer;
}

/** The coordinate system stands behind the points, so that nothing but the points has lost its place. */
function pointsInHeader(s: SoundClouds, early: number): Uint8Array {
  const data = s.las14().subarray(375 + 54, 375 + 54 + new DataView(s.las14().buffer).getUint16(375 + 20, true));
  const bytes = s.las14({ crs: null, evlrs: [{ userId: 'LASF_Projection', recordId: 2112, data }] });
  const view = new DataView(bytes.buffer);
  const end = Number(view.getBigUint64(At.evlrStart, true));
  const out = new Uint8Array(bytes.length - early);
  out.set(bytes.subarray(0, end - early));
  out.set(bytes.subarray(end), end - early);
  return changed(out, (v) => {
    v.setUint32(At.pointOffset, view.getUint32(At.pointOffset, true) - early, true);
    v.setBigUint64(At.evlrStart, BigInt(end - early), true);
  });
}

/** Maximum and minimum, which stand in this order, change places. */
function turnedRound(bytes: Uint8Array, at: number): Uint8Array {
  return changed(bytes, (v) => {
    const max = v.getFloat64(at, true);
    v.setFloat64(at, v.getFloat64(at + 8, true), true);
    v.setFloat64(at + 8, max, true);
  });
}

function morePoints(bytes: Uint8Array, more: number): Uint8Array {
  return changed(bytes, (v) => {
    for (const at of [At.count, At.byReturn]) v.setBigUint64(at, v.getBigUint64(at, true) + BigInt(more), true);
  });
}

function fiveBillion(bytes: Uint8Array): Uint8Array {
  return changed(bytes, (v) => {
    v.setBigUint64(At.count, 5_000_000_000n, true);
    for (let i = 0; i < 15; i++) v.setBigUint64(At.byReturn + 8 * i, i === 0 ? 5_000_000_000n : 0n, true);
  });
}
