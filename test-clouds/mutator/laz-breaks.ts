import { encodeChunkTable, encodeLaz, encodeLazWithChunks } from '../../src/simulate/encoder/laz-encoder.js';
import type { Break } from './breaks.js';
import { At, append, changed, insertBeforePoints, oneOf, putText, recordAt, whole } from './edit.js';
import type { SoundClouds } from './sound-clouds.js';

const RECORD = 22204;
const payloadAt = (bytes: Uint8Array) => recordAt(bytes, RECORD) + 54;

/** Files that break one rule about compressed points. */
export const lazBreaks: Break[] = [
  ['LAZ-01', 'no LAZ record', (s) => changed(s.laz14(), (_, b) => putText(b, recordAt(b, RECORD) + 2, 16, 'street'))],
  [
    'LAZ-02',
    'a longer LAZ record',
    (s, r) => {
      const more = whole(r, 1, 5);
      const laz = s.laz14();
      const at = recordAt(laz, RECORD);
      const length = new DataView(laz.buffer).getUint16(at + 20, true);
      return changed(insertBeforePoints(laz, at + 54 + length, more), (v) => v.setUint16(at + 20, length + more, true));
    },
  ],
  [
    'LAZ-03',
    'two LAZ records',
    (s) => s.laz14({ vlrs: [{ userId: 'laszip encoded', recordId: RECORD, data: lazPayload(s) }] }),
  ],
  [
    'LAZ-04',
    'a LAZ record without compressed points',
    (s) => s.las14({ vlrs: [{ userId: 'laszip encoded', recordId: RECORD, data: lazPayload(s) }] }),
  ],
  [
    'LAZ-05',
    'another way of compressing',
    (s, r) => changed(s.laz14(), (v, b) => v.setUint16(payloadAt(b), oneOf(r, [0, 1, 2, 4, 77]), true)),
  ],
  [
    'LAZ-06',
    'an unknown coder',
    (s, r) => changed(s.laz14(), (v, b) => v.setUint16(payloadAt(b) + 2, whole(r, 1, 9), true)),
  ],
  [
    'LAZ-07',
    'items of another format',
    (s, r) =>
      changed(s.laz14(), (v, b) => {
        if (r.below(2) === 0) v.setUint16(payloadAt(b) + 34, oneOf(r, [0, 6, 11]), true);
        else v.setUint16(payloadAt(b) + 36, oneOf(r, [20, 29, 31]), true);
      }),
  ],
  [
    'LAZ-08',
    'an unknown version of an item',
    (s, r) => changed(s.laz14(), (v, b) => v.setUint16(payloadAt(b) + 38, oneOf(r, [0, 1, 5, 99]), true)),
  ],
  ['LAZ-09', 'chunks of no points', (s) => changed(s.laz14(), (v, b) => v.setUint32(payloadAt(b) + 12, 0, true))],
  [
    'LAZ-10',
    'points in disguise',
    (s) => s.laz14({ vlrs: [{ userId: 'lascompatible', recordId: RECORD, data: new Uint8Array(156) }] }),
  ],
  [
    'LAZ-11',
    'special records somewhere',
    (s, r) => changed(s.laz14(), (v, b) => v.setBigInt64(payloadAt(b) + 16, BigInt(whole(r, 0, 9)), true)),
  ],
  ['LAZ-12', 'extended records among the chunks', (s) => recordInChunk(s)],
  [
    'LAZ-13',
    'a writer that never finished',
    (s) =>
      changed(s.laz14(), (v) => {
        const start = v.getUint32(At.pointOffset, true);
        v.setBigInt64(start, BigInt(start), true);
      }),
  ],
  [
    'LAZ-14',
    'a chunk table outside the file',
    (s, r) =>
      changed(s.laz14(), (v, b) => {
        const start = v.getUint32(At.pointOffset, true);
        v.setBigInt64(start, oneOf(r, [BigInt(b.length + whole(r, 0, 999)), 2n ** 62n, 5n, -7n]), true);
      }),
  ],
  [
    'LAZ-15',
    'a chunk table of another version',
    (s, r) => changed(s.laz14(), (v) => v.setUint32(tableAt(v), whole(r, 1, 9), true)),
  ],
  [
    'LAZ-16',
    'more chunks than there is room for',
    (s, r) => changed(s.laz14(), (v) => v.setUint32(tableAt(v) + 4, whole(r, 1e6, 0xffffffff), true)),
  ],
  ['LAZ-17', 'chunks that do not end at their table', (s, r) => otherTable(s, whole(r, 1, 50))],
  [
    'LAZ-18',
    'more points than the chunks hold',
    (s, r) =>
      changed(s.laz14(), (v) => {
        const more = BigInt(whole(r, 1, 1e6));
        for (const at of [At.count, At.byReturn]) v.setBigUint64(at, v.getBigUint64(at, true) + more, true);
      }),
  ],
  [
    'LAZ-19',
    'one bit of a chunk',
    (s, r) => {
      const { bytes, chunks } = encodeLazWithChunks(s.las12(), { chunkSize: 100 });
      // Behind the first point of 28 bytes and its stream's first bytes, before the last ones, which may mean nothing.
      const { begin, end } = oneOf(r, chunks);
      return changed(bytes, (_, b) => (b[whole(r, begin + 40, end - 20)] ^= 1 << r.below(8)));
    },
  ],
];

function tableAt(view: DataView): number {
  return Number(view.getBigInt64(view.getUint32(At.pointOffset, true), true));
}

function lazPayload(s: SoundClouds): Uint8Array {
  const laz = s.laz14();
  const at = recordAt(laz, RECORD);
  return laz.slice(at + 54, at + 54 + new DataView(laz.buffer).getUint16(at + 20, true));
}

/** The file with a table that makes its first chunk longer than it is. */
function otherTable(s: SoundClouds, more: number): Uint8Array {
  const { bytes, chunks } = encodeLazWithChunks(s.las14(), { chunkSize: 100 });
  const places = chunks.map((c, i) => (i === 0 ? { ...c, end: c.end + more } : c));
  return append(bytes.subarray(0, tableAt(new DataView(bytes.buffer))), encodeChunkTable(places, false));
}

/**
 * The first point of a chunk stands in the file as it is: sixty extra bytes of it are the head of an extended record that
 * holds nothing, and the header is told that the extended records are there.
 */
function recordInChunk(s: SoundClouds): Uint8Array {
  const head = new Uint8Array(60);
  putText(head, 2, 16, 'street');
  const described = new Uint8Array(192);
  // Type 0 keeps its number of bytes in the options.
  described[3] = 60;
  putText(described, 4, 32, 'Head');
  const las = s.las14({ vlrs: [{ userId: 'LASF_Spec', recordId: 4, data: described }] });
  const view = new DataView(las.buffer);
  const start = view.getUint32(At.pointOffset, true);
  const count = s.points.count;
  const wide = new Uint8Array(start + 90 * count);
  wide.set(las.subarray(0, start));
  for (let i = 0; i < count; i++) {
    wide.set(las.subarray(start + 30 * i, start + 30 * i + 30), start + 90 * i);
    wide.set(head, start + 90 * i + 30);
  }
  new DataView(wide.buffer).setUint16(At.recordLength, 90, true);
  return changed(encodeLaz(wide, { chunkSize: 100 }), (v) => {
    v.setBigUint64(At.evlrStart, BigInt(v.getUint32(At.pointOffset, true) + 8 + 30), true);
    v.setUint32(At.evlrCount, 1, true);
  });
}
