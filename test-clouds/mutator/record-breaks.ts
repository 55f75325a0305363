import type { VlrContent } from '../../src/simulate/writer/las-header.js';
import type { Break } from './breaks.js';
import { At, changed, insertBeforePoints, oneOf, putText, recordAt, whole } from './edit.js';
import type { SoundClouds } from './sound-clouds.js';

const SPEC = 'LASF_Spec';
const note = (length = 20): VlrContent => ({ userId: 'street', recordId: 7, data: new Uint8Array(length) });

/** Bits a sample, no compression, samples, picoseconds, gain 1 (LAS 1.4 R16, 4 Waveform Packet Descriptor). */
function descriptor(recordId: number, more: { bits?: number; compression?: number; length?: number } = {}): VlrContent {
  const data = new Uint8Array(26);
  const view = new DataView(data.buffer);
  view.setUint8(0, more.bits ?? 8);
  view.setUint8(1, more.compression ?? 0);
  view.setUint32(2, 80, true);
  view.setUint32(6, 1000, true);
  view.setFloat64(10, 1, true);
  return { userId: SPEC, recordId, data: data.slice(0, more.length ?? 26) };
}

/** Files that break one rule about variable length records or extra bytes. */
export const recordBreaks: Break[] = [
  [
    'LAS-VLR-01',
    'more records announced than there are',
    (s, r) => changed(s.las14(), (v) => v.setUint32(At.vlrCount, whole(r, 2, 0xffffffff), true)),
  ],
  [
    'LAS-VLR-02',
    'a record that reaches into the points',
    (s, r) =>
      changed(s.las14({ vlrs: [note()] }), (v, b) => v.setUint16(recordAt(b, 7) + 20, whole(r, 21, 65_535), true)),
  ],
  [
    'LAS-VLR-03',
    'a reserved field that is not zero',
    (s, r) => changed(s.las14(), (v) => v.setUint16(375, oneOf(r, [0xaabb, whole(r, 1, 65_535)]), true)),
  ],
  [
    'LAS-VLR-04',
    'text behind the end of a text',
    (s, r) => changed(s.las14({ vlrs: [note()] }), (_, b) => (b[recordAt(b, 7) + 22 + whole(r, 1, 31)] = 65)),
  ],
  ['LAS-VLR-05', 'a record of nobody', (s) => s.las14({ vlrs: [{ ...note(), userId: '' }] })],
  [
    'LAS-VLR-06',
    'bytes between records and points',
    (s, r) => {
      const bytes = s.las14();
      return insertBeforePoints(bytes, new DataView(bytes.buffer).getUint32(At.pointOffset, true), whole(r, 1, 300));
    },
  ],
  [
    'LAS-VLR-07',
    'a record the specification does not define',
    (s, r) => s.las14({ vlrs: [{ ...note(), userId: SPEC, recordId: oneOf(r, [8, 50, 99, 355, 4000]) }] }),
  ],
  [
    'LAS-VLR-08',
    'more extended records announced than there are',
    (s, r) => changed(s.las14({ evlrs: [note()] }), (v) => v.setUint32(At.evlrCount, whole(r, 2, 0xffffffff), true)),
  ],
  [
    'LAS-VLR-09',
    'an extended record that reaches beyond the end',
    (s, r) =>
      changed(s.las14({ evlrs: [note()] }), (v) => {
        const at = Number(v.getBigUint64(At.evlrStart, true));
        v.setBigUint64(at + 20, oneOf(r, [21n, 4_294_967_296n, 2n ** 63n]), true);
      }),
  ],
  ['LAS-VLR-10', 'extended records in a file for older readers', (s) => s.las14old({ evlrs: [note()] })],
  [
    'LAS-VLR-11',
    'a classification lookup of another length',
    (s, r) => s.las14({ vlrs: [{ userId: SPEC, recordId: 0, data: new Uint8Array(16 * whole(r, 1, 255)) }] }),
  ],
  [
    'LAS-VLR-12',
    'a classification lookup in LAS 1.5',
    (s) => s.las15({ vlrs: [{ userId: SPEC, recordId: 0, data: new Uint8Array(4096) }] }),
  ],
  [
    'LAS-VLR-13',
    'a text area without an end',
    (s, r) => s.las14({ vlrs: [{ userId: SPEC, recordId: 3, data: new Uint8Array(whole(r, 1, 90)).fill(65) }] }),
  ],
  [
    'LAS-VLR-14',
    'wave packets without a descriptor',
    (s) => changed(s.las14waves(), (_, b) => putText(b, recordAt(b, 100) + 2, 16, 'street')),
  ],
  ['LAS-VLR-15', 'a descriptor cut short', (s, r) => s.las14({ vlrs: [descriptor(101, { length: whole(r, 1, 25) })] })],
  [
    'LAS-VLR-16',
    'samples of no bit, of a hundred bits',
    (s, r) => s.las14({ vlrs: [descriptor(whole(r, 100, 354), { bits: oneOf(r, [0, 1, 33, 100]) })] }),
  ],
  [
    'LAS-VLR-17',
    'waveforms compressed somehow',
    (s, r) => s.las14({ vlrs: [descriptor(whole(r, 100, 354), { compression: whole(r, 1, 255) })] }),
  ],
  ['LAS-VLR-18', 'the same descriptor twice', (s) => s.las14({ vlrs: [descriptor(120), descriptor(120)] })],
  [
    'LAS-VLR-19',
    'no waveforms where they should be',
    (s) =>
      changed(s.las14waves({ evlrs: [note()], headerOverrides: { globalEncoding: 0x13 } }), (v) =>
        v.setBigUint64(At.waveformStart, v.getBigUint64(At.evlrStart, true), true),
      ),
  ],
  ['LAS-EXB-01', 'a descriptor and a bit', (s, r) => extras(s, RANGE, DEVIATION, new Uint8Array(whole(r, 1, 191)))],
  ['LAS-EXB-02', 'more described than there is', (s) => extras(s, RANGE, DEVIATION, field({ type: 1, name: 'More' }))],
  ['LAS-EXB-03', 'bytes nobody describes', (s) => extras(s, RANGE)],
  [
    'LAS-EXB-04',
    'an unused field in use',
    (s, r) =>
      extras(
        s,
        changed(RANGE, (_, b) => (b[oneOf(r, [0, 1, 36, 39, 48, 72, 96, 120, 144])] = 9)),
        DEVIATION,
      ),
  ],
  ['LAS-EXB-05', 'a reserved type', (s, r) => extras(s, RANGE, field({ type: whole(r, 31, 255), name: 'Deviation' }))],
  // Two members of one byte take the room of one member of two.
  ['LAS-EXB-06', 'a deprecated pair', (s) => extras(s, field({ type: 11, name: 'Range' }), DEVIATION)],
  [
    'LAS-EXB-07',
    'a reserved option',
    (s, r) =>
      extras(
        s,
        changed(RANGE, (_, b) => (b[3] = 1 << whole(r, 5, 7))),
        DEVIATION,
      ),
  ],
  [
    'LAS-EXB-08',
    'a scale that is none',
    (s, r) =>
      extras(
        s,
        changed(RANGE, (v, b) => {
          b[3] = 8;
          v.setFloat64(112, oneOf(r, [0, Number.NaN, Number.POSITIVE_INFINITY]), true);
        }),
        DEVIATION,
      ),
  ],
  ['LAS-EXB-09', 'a range turned round', (s, r) => extras(s, stated(5000 + r.below(1000), 10), DEVIATION)],
  ['LAS-EXB-10', 'extra bytes without a name', (s) => extras(s, field({ type: 3, name: '' }), DEVIATION)],
  ['LAS-EXB-11', 'two of the same name', (s) => extras(s, RANGE, field({ type: 10, name: 'Range' }))],
  [
    'LAS-EXB-12',
    'two records of extra bytes',
    (s) => s.las14extra({ vlrs: [{ userId: SPEC, recordId: 4, data: RANGE }] }),
  ],
  [
    'LAS-EXB-13',
    'a range that is not that of the values',
    (s, r) => extras(s, stated(1000 - whole(r, 1, 500), 1000 + s.points.count - 1), DEVIATION),
  ],
];

/** One descriptor of 192 bytes (LAS 1.4 R16, 4 Extra Bytes). */
function field({ type, name }: { type: number; name: string }): Uint8Array {
  const data = new Uint8Array(192);
  data[2] = type;
  putText(data, 4, 32, name);
  return data;
}

const RANGE = field({ type: 3, name: 'Range' });
const DEVIATION = field({ type: 10, name: 'Deviation' });

/** "Range" with its stored extremes stated: option bits 1 and 2, as 64-bit numbers. */
function stated(min: number, max: number): Uint8Array {
  return changed(RANGE, (v, b) => {
    b[3] = 6;
    v.setBigUint64(64, BigInt(min), true);
    v.setBigUint64(88, BigInt(max), true);
  });
}

/** The cloud with extra bytes, described by these descriptors instead of its own. */
function extras(s: SoundClouds, ...descriptors: Uint8Array[]): Uint8Array {
  const data = new Uint8Array(descriptors.reduce((sum, d) => sum + d.length, 0));
  let at = 0;
  for (const one of descriptors) {
    data.set(one, at);
    at += one.length;
  }
  const bytes = s.las14extra({ vlrs: [{ userId: SPEC, recordId: 4, data }] });
  return changed(bytes, (_, b) => putText(b, recordAt(b, 4) + 2, 16, 'street'));
}
