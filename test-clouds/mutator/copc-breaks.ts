import { encodeChunkTable } from '../../src/simulate/encoder/laz-encoder.js';
import type { Random } from '../../src/simulate/scene/random.js';
import { selectPoints } from '../../src/simulate/writer/point-columns.js';
import { encodeCopc } from '../encoder/copc-encoder.js';
import type { Break } from './breaks.js';
import { At, append, changed, insertBeforePoints, oneOf, putText, recordAt, textAt, whole } from './edit.js';
import type { SoundClouds } from './sound-clouds.js';

/** The info record: header of 375 bytes, record header of 54. */
const INFO = 375 + 54;
const In = {
  center: INFO,
  halfSize: INFO + 24,
  spacing: INFO + 32,
  root: INFO + 40,
  rootSize: INFO + 48,
  times: INFO + 56,
};

interface Entry {
  key: [level: number, x: number, y: number, z: number];
  offset: number;
  size: number;
  points: number;
}

/** Files that break one rule of COPC. */
export const copcBreaks: Break[] = [
  ['COPC-01', 'another point format', (s) => encodeCopc(s.las14waves(), { ...PAGES, unsound: true })],
  ['COPC-02', 'the info record as the second', (s) => infoSecond(s.copc())],
  ['COPC-03', 'a longer info record', (s, r) => longerInfo(s.copc(), whole(r, 1, 60))],
  ['COPC-04', 'reserved fields in use', (s, r) => changed(s.copc(), (_, b) => (b[INFO + whole(r, 72, 159)] = 1))],
  [
    'COPC-05',
    'two info records',
    (s) => s.copc({ vlrs: [{ userId: 'copc', recordId: 1, data: new Uint8Array(160) }] }),
  ],
  [
    'COPC-06',
    'a root cube without a size',
    (s, r) => changed(s.copc(), (v) => v.setFloat64(In.halfSize, oneOf(r, [0, -1, Number.NaN]), true)),
  ],
  [
    'COPC-07',
    'a spacing of nothing',
    (s, r) => changed(s.copc(), (v) => v.setFloat64(In.spacing, oneOf(r, [0, -2, Number.NaN]), true)),
  ],
  [
    'COPC-08',
    'an extent beyond the root cube',
    (s, r) =>
      changed(s.copc(), (v) => {
        const axis = r.below(3);
        v.setFloat64(At.maxX + 16 * axis, [600_000, 6_000_000, 5000][axis], true);
      }),
  ],
  [
    'COPC-09',
    'no hierarchy record',
    (s) => changed(s.copc(), (v, b) => putText(b, Number(v.getBigUint64(At.evlrStart, true)) + 2, 16, 'street')),
  ],
  ['COPC-10', 'a root page outside the record', (s) => rootElsewhere(s.copc())],
  [
    'COPC-11',
    'a page and a bit',
    (s, r) =>
      changed(s.copc(), (v) =>
        v.setInt32(pageEntry(v) + 24, v.getInt32(pageEntry(v) + 24, true) + whole(r, 1, 31), true),
      ),
  ],
  [
    'COPC-12',
    'a page that is its own child',
    (s) => changed(s.copc(), (v) => v.setBigUint64(pageEntry(v) + 16, v.getBigUint64(In.root, true), true)),
  ],
  [
    'COPC-13',
    'a page behind the end',
    (s, r) => changed(s.copc(), (v, b) => v.setBigUint64(pageEntry(v) + 16, BigInt(b.length + whole(r, 0, 999)), true)),
  ],
  [
    'COPC-14',
    'fewer points than none',
    (s, r) =>
      changed(s.copc(), (v) => v.setInt32(Number(v.getBigUint64(In.root, true)) + 28, whole(r, -1e9, -2), true)),
  ],
  [
    'COPC-15',
    'a place for no points',
    (s, r) => withEntries(s.copc(), (e) => [...e, { ...emptyLeaf(e), offset: whole(r, 1, 999), size: 4 }]),
  ],
  [
    'COPC-16',
    'a node outside the octree',
    (s, r) => withEntries(s.copc(), (e) => [...e, { key: [1, whole(r, 2, 99), 0, 0], offset: 0, size: 0, points: 0 }]),
  ],
  [
    'COPC-17',
    'a node listed twice',
    (s, r) => withEntries(s.copc(), (e) => [...e, { key: oneOf(r, e).key, offset: 0, size: 0, points: 0 }]),
  ],
  ['COPC-18', 'a node without a parent', (s) => orphan(s)],
  [
    'COPC-19',
    'more points in the header than in the nodes',
    (s, r) =>
      changed(s.copc(), (v) => {
        const more = BigInt(whole(r, 1, 1e6));
        for (const at of [At.count, At.byReturn]) v.setBigUint64(at, v.getBigUint64(at, true) + more, true);
      }),
  ],
  [
    'COPC-20',
    'points behind the end',
    (s, r) => withEntries(s.copc(), (e) => changedEntry(e, r, (n) => ({ ...n, offset: oneOf(r, [1e9, 2 ** 52]) }))),
  ],
  [
    'COPC-21',
    'two nodes in the same bytes',
    (s) => withEntries(s.copc(), (e) => e.map((n, i) => (i === 1 ? { ...e[0], key: n.key } : n))),
  ],
  ['COPC-22', 'a chunk table of other chunks', (s) => mergedTable(s.copc())],
  [
    'COPC-23',
    'chunks of one size',
    (s, r) => changed(s.copc(), (v, b) => v.setUint32(recordAt(b, 22204) + 54 + 12, whole(r, 1, 99_999), true)),
  ],
  ['COPC-24', 'two nodes that changed places', (s) => withEntries(s.copc(), exchanged)],
  [
    'COPC-25',
    'another range of GPS times',
    (s, r) =>
      changed(s.copc(), (v) => {
        const at = In.times + 8 * r.below(2);
        v.setFloat64(at, v.getFloat64(at, true) + r.between(1, 100), true);
      }),
  ],
];

const PAGES = { nodePoints: 40, pageLevels: 1 };

/** Where an entry of the root page stands that refers to a further page. */
function pageEntry(view: DataView): number {
  const root = Number(view.getBigUint64(In.root, true));
  const size = Number(view.getBigUint64(In.rootSize, true));
  for (let at = root; at < root + size; at += 32) if (view.getInt32(at + 28, true) === -1) return at;
  throw new Error('the hierarchy has one page only');
}

function readEntries(bytes: Uint8Array): Entry[] {
  const view = new DataView(bytes.buffer, bytes.byteOffset);
  const entries: Entry[] = [];
  const page = (begin: number, size: number) => {
    for (let at = begin; at < begin + size; at += 32) {
      const key = [0, 4, 8, 12].map((d) => view.getInt32(at + d, true)) as Entry['key'];
      const [offset, length, points] = [
        Number(view.getBigUint64(at + 16, true)),
        view.getInt32(at + 24, true),
        view.getInt32(at + 28, true),
      ];
      if (points === -1) page(offset, length);
      else entries.push({ key, offset, size: length, points });
    }
  };
  page(Number(view.getBigUint64(In.root, true)), Number(view.getBigUint64(In.rootSize, true)));
  return entries;
}

/** The file with another hierarchy, on one page; the hierarchy is the last extended record. */
function withEntries(copc: Uint8Array, change: (entries: Entry[]) => Entry[]): Uint8Array {
  const entries = change(readEntries(copc));
  const at = hierarchyAt(copc);
  const out = new Uint8Array(at + 60 + 32 * entries.length);
  out.set(copc.subarray(0, at + 60));
  const view = new DataView(out.buffer);
  for (const [i, { key, offset, size, points }] of entries.entries()) {
    const place = at + 60 + 32 * i;
    for (let k = 0; k < 4; k++) view.setInt32(place + 4 * k, key[k], true);
    view.setBigUint64(place + 16, BigInt(offset), true);
    view.setInt32(place + 24, size, true);
    view.setInt32(place + 28, points, true);
  }
  view.setBigUint64(at + 20, BigInt(32 * entries.length), true);
  view.setBigUint64(In.root, BigInt(at + 60), true);
  view.setBigUint64(In.rootSize, BigInt(32 * entries.length), true);
  return out;
}

function hierarchyAt(copc: Uint8Array): number {
  const view = new DataView(copc.buffer, copc.byteOffset);
  let at = Number(view.getBigUint64(At.evlrStart, true));
  while (textAt(copc, at + 2, 16) !== 'copc') at += 60 + Number(view.getBigUint64(at + 20, true));
  return at;
}

function changedEntry(entries: Entry[], random: Random, change: (entry: Entry) => Entry): Entry[] {
  const at = random.below(entries.length);
  return entries.map((entry, i) => (i === at ? change(entry) : entry));
}

/** A child of the deepest node, which has none. */
function emptyLeaf(entries: readonly Entry[]): Entry {
  const [level, x, y, z] = entries.reduce((a, b) => (b.key[0] > a.key[0] ? b : a)).key;
  return { key: [level + 1, 2 * x, 2 * y, 2 * z], offset: 0, size: 0, points: 0 };
}

/** The points of two nodes of one level change places. */
function exchanged(entries: Entry[]): Entry[] {
  const [a, b] = entries.filter(({ key }) => key[0] === 1);
  return entries.map((e) => (e === a ? { ...b, key: a.key } : e === b ? { ...a, key: b.key } : e));
}

function infoSecond(copc: Uint8Array): Uint8Array {
  const view = new DataView(copc.buffer, copc.byteOffset);
  const info = copc.slice(375, INFO + 160);
  const second = copc.slice(INFO + 160, INFO + 160 + 54 + view.getUint16(INFO + 160 + 20, true));
  return changed(copc, (_, b) => {
    b.set(second, 375);
    b.set(info, 375 + second.length);
  });
}

/** Everything behind the info record moves; the hierarchy knows places and is written anew. */
function longerInfo(copc: Uint8Array, more: number): Uint8Array {
  const moved = insertBeforePoints(copc, INFO + 160, more);
  const entries = readEntries(copc).map((e) => ({ ...e, offset: e.offset + more }));
  const view = new DataView(moved.buffer);
  view.setUint16(375 + 20, 160 + more, true);
  view.setBigUint64(In.root, BigInt(hierarchyAt(moved) + 60), true);
  view.setBigUint64(In.rootSize, 0n, true);
  return withEntries(moved, () => entries);
}

/** A copy of the root page behind the last record. */
function rootElsewhere(copc: Uint8Array): Uint8Array {
  const view = new DataView(copc.buffer, copc.byteOffset);
  const at = Number(view.getBigUint64(In.root, true));
  const page = copc.slice(at, at + Number(view.getBigUint64(In.rootSize, true)));
  return changed(append(copc, page), (v) => v.setBigUint64(In.root, BigInt(copc.length), true));
}

/** The first two chunks are one in the table. */
function mergedTable(copc: Uint8Array): Uint8Array {
  const view = new DataView(copc.buffer, copc.byteOffset);
  const places = readEntries(copc)
    .filter(({ points }) => points > 0)
    .sort((a, b) => a.offset - b.offset)
    .map(({ offset, size, points }) => ({ begin: offset, end: offset + size, points }));
  const merged = [
    { begin: places[0].begin, end: places[1].end, points: places[0].points + places[1].points },
    ...places.slice(2),
  ];
  const table = Number(view.getBigInt64(view.getUint32(At.pointOffset, true), true));
  const room = Number(view.getBigUint64(At.evlrStart, true)) - table;
  const coded = encodeChunkTable(merged, true);
  if (coded.length > room) throw new Error('the table has grown');
  return changed(copc, (_, b) => {
    b.fill(0, table, table + room);
    b.set(coded, table);
  });
}

/** Two tight heaps of points: a node of one has all its points in one child, so it can be called by that child's name. */
function orphan(s: SoundClouds): Uint8Array {
  const points = selectPoints(s.points, () => true);
  for (let i = 0; i < points.count; i++) {
    const far = i % 2 === 0 ? 0 : 64;
    points.x[i] = 561_000 + far + (i % 3) * 0.001;
    points.y[i] = 5_932_000 + far;
    points.z[i] = far;
  }
  const copc = encodeCopc(s.lasOf(points), PAGES);
  return withEntries(copc, (entries) => {
    const deepest = entries.reduce((a, b) => (b.key[0] > a.key[0] ? b : a));
    // The heap at the far corner lies in the last child at every level, the near one in the first.
    const [level, x, y, z] = deepest.key;
    const far = x > 0 ? 1 : 0;
    const key: Entry['key'] = [level + 1, 2 * x + far, 2 * y + far, 2 * z + far];
    return entries.map((e) => (e === deepest ? { ...e, key } : e));
  });
}
