import { Fault } from '../fault.js';
import type { Piece } from './cloud.js';
import type { Header, Oddity, Triple } from './header.js';
import type { Source } from './source.js';
import { grouped } from './text.js';
import { findRecord, isRecord, type Vlr } from './vlr.js';

/** The COPC info record (COPC 1.0). */
export interface CopcInfo {
  /** Of the root cube, in the cloud's unit. */
  center: Triple;
  halfSize: number;
  /** Point spacing at the root, halved at each level. */
  spacing: number;
  rootOffset: number;
  rootSize: number;
  gpsTimeMin: number;
  gpsTimeMax: number;
}

/** A node of the octree with points. */
export interface CopcNode extends Piece {
  level: number;
  x: number;
  y: number;
  z: number;
}

const INFO_BYTES = 160;
const ENTRY_BYTES = 32;
/** Where the info record must stand: right behind a header of 375 bytes. */
const INFO_AT = 375;
/** Bounds for hierarchies that lie; real ones have some thousand nodes. */
const PAGES_MAX = 100_000;
const NODES_MAX = 20_000_000;
const PAGE_BYTES_MAX = 256 << 20;

/** Told from the content: a compressed file with the info record in its place. */
export function isCopc(header: Header, vlrs: readonly Vlr[]): boolean {
  const vlr = findRecord(vlrs, 'copc', 1);
  return header.compressed && vlr !== null && vlr.payload.length >= 72;
}

/** Reads the info record of a file for which isCopc holds. */
export function readCopcInfo(vlrs: readonly Vlr[]): CopcInfo {
  const { payload } = findRecord(vlrs, 'copc', 1)!;
  const view = new DataView(payload.buffer, payload.byteOffset, payload.byteLength);
  const u64 = (at: number) => Number(view.getBigUint64(at, true));
  const f64 = (at: number) => view.getFloat64(at, true);
  return {
    center: [f64(0), f64(8), f64(16)],
    halfSize: f64(24),
    spacing: f64(32),
    rootOffset: u64(40),
    rootSize: u64(48),
    gpsTimeMin: f64(56),
    gpsTimeMax: f64(64),
  };
}

/** Compares the info record with the rules of COPC 1.0. */
export function inspectCopc(header: Header, vlrs: readonly Vlr[], info: CopcInfo, size: number): Oddity[] {
  const oddities: Oddity[] = [];
  const vlr = findRecord(vlrs, 'copc', 1)!;
  const add = (rule: Oddity['rule'], offset: number, found: string | number, expected: string | number, text: string) =>
    oddities.push({ rule, offset, found, expected, text });
  if (header.versionMinor !== 4) add('copc-format', 25, header.versionMinor, 4, 'COPC is made of LAS 1.4');
  if (header.pointFormat < 6 || header.pointFormat > 8)
    add('copc-format', 104, header.pointFormat, '6 to 8', 'COPC has point formats 6 to 8 only');
  if (vlr.offset !== INFO_AT)
    add('copc-info', vlr.offset, vlr.offset, INFO_AT, 'the COPC info record is not the first record');
  if (vlr.payload.length !== INFO_BYTES) {
    add('copc-info', vlr.offset, vlr.payload.length, INFO_BYTES, 'the COPC info record has another length');
  } else if (vlr.payload.subarray(72).some((b) => b !== 0)) {
    add(
      'copc-info',
      vlr.payloadOffset + 72,
      'other bytes',
      'zero',
      'reserved fields of the COPC info record are not zero',
    );
  }
  if (!(info.halfSize > 0) || !(info.spacing > 0)) {
    add(
      'copc-cube',
      vlr.payloadOffset + 24,
      `${info.halfSize} and ${info.spacing}`,
      'above zero',
      'half size and spacing of the root cube must be above zero',
    );
  }
  for (const [i, axis] of ['x', 'y', 'z'].entries()) {
    const low = info.center[i] - info.halfSize;
    const high = info.center[i] + info.halfSize;
    const slack = Math.abs(header.scale[i]);
    if (header.pointCount > 0 && (header.min[i] < low - slack || header.max[i] > high + slack)) {
      add(
        'copc-cube',
        vlr.payloadOffset,
        `${low} to ${high}`,
        `${header.min[i]} to ${header.max[i]}`,
        `the root cube does not hold the header's ${axis} range`,
      );
    }
  }
  // Some writers give every page a record of its own.
  const hierarchies = vlrs.filter((v) => isRecord(v, 'copc', 1000));
  const inside = (h: Vlr) =>
    info.rootOffset >= h.payloadOffset && info.rootOffset + info.rootSize <= h.payloadOffset + h.length;
  if (!hierarchies.some(inside)) {
    add(
      'copc-page',
      vlr.payloadOffset + 40,
      info.rootOffset,
      'a position in the hierarchy record',
      'the root page is not inside a hierarchy record',
    );
  }
  if (info.rootOffset + info.rootSize > size) {
    add(
      'copc-page',
      vlr.payloadOffset + 40,
      info.rootOffset + info.rootSize,
      `at most ${size}`,
      'the root page reaches beyond the end of the file',
    );
  }
  return oddities;
}

/**
 * Reads the hierarchy page by page: the nodes with points, in the order in which they stand in the file.
 * Pages in a loop, pages and nodes outside the file, and impossible keys are refused or, where points stay readable,
 * listed in `oddities`.
 * @throws Fault file-truncated, copc-hierarchy
 */
export async function readHierarchy(
  source: Source,
  header: Header,
  info: CopcInfo,
  oddities: Oddity[],
): Promise<CopcNode[]> {
  const walk = new HierarchyWalk(source, header, oddities);
  await walk.page(info.rootOffset, info.rootSize);
  return walk.finish();
}

class HierarchyWalk {
  private readonly nodes: CopcNode[] = [];
  private readonly keys = new Set<string>();
  private readonly pages = new Set<number>();
  private readonly queue: { offset: number; size: number }[] = [];
  private entries = 0;

  constructor(
    private readonly source: Source,
    private readonly header: Header,
    private readonly oddities: Oddity[],
  ) {}

  async page(offset: number, size: number): Promise<void> {
    this.enqueue(offset, size, offset);
    for (let next = this.queue.pop(); next; next = this.queue.pop()) {
      const bytes = await this.source.read(next.offset, next.offset + next.size);
      const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
      const whole = Math.floor(next.size / ENTRY_BYTES) * ENTRY_BYTES;
      for (let at = 0; at < whole; at += ENTRY_BYTES) this.entry(view, at, next.offset + at);
    }
  }

  private enqueue(offset: number, size: number, at: number): void {
    if (this.pages.has(offset)) throw this.fault('a page is listed twice, its pages run in a loop', at);
    if (!Number.isSafeInteger(offset + size) || offset + size > this.source.size) {
      throw new Fault({
        code: 'file-truncated',
        what: 'the file ends before a page of its hierarchy',
        where: this.source.name,
        found: `${this.source.size} bytes`,
        expected: `a page at ${offset} of ${size} bytes`,
        advice: 'The transfer was probably cut short: copy the file again.',
      });
    }
    if (size < ENTRY_BYTES || size > PAGE_BYTES_MAX || this.pages.size >= PAGES_MAX)
      throw this.fault(`a page of ${size} bytes is impossible`, at);
    if (size % ENTRY_BYTES !== 0) {
      this.add(
        'copc-page',
        at,
        size,
        `a multiple of ${ENTRY_BYTES}`,
        'a hierarchy page has no whole number of entries',
      );
    }
    this.pages.add(offset);
    this.queue.push({ offset, size });
  }

  private entry(view: DataView, at: number, where: number): void {
    if (++this.entries > NODES_MAX) throw this.fault('it has more nodes than can be true', where);
    const [level, x, y, z] = [0, 4, 8, 12].map((d) => view.getInt32(at + d, true));
    const offset = Number(view.getBigUint64(at + 16, true));
    const size = view.getInt32(at + 24, true);
    const points = view.getInt32(at + 28, true);
    if (points < -1) throw this.fault(`a node has ${points} points`, where);
    const reach = level >= 0 && level < 31 ? 2 ** level : 0;
    if (!(x >= 0 && x < reach && y >= 0 && y < reach && z >= 0 && z < reach)) {
      this.add('copc-key', where, `${level}-${x}-${y}-${z}`, 'a key of the octree', 'a node lies outside the octree');
    }
    if (points === -1) {
      this.enqueue(offset, size, where);
      return;
    }
    const key = `${level}-${x}-${y}-${z}`;
    if (this.keys.has(key)) throw this.fault(`node ${key} is listed twice`, where);
    this.keys.add(key);
    if (points === 0) return;
    if (size < this.header.recordLength) throw this.fault(`node ${key} has ${size} bytes for ${points} points`, where);
    if (!Number.isSafeInteger(offset + size) || offset + size > this.source.size) {
      throw new Fault({
        code: 'file-truncated',
        what: 'the file ends before points that its hierarchy lists',
        where: this.source.name,
        found: `${this.source.size} bytes`,
        expected: `points at ${offset} of ${size} bytes`,
        advice: 'The transfer was probably cut short: copy the file again.',
      });
    }
    this.nodes.push({ begin: offset, end: offset + size, points, level, x, y, z });
  }

  finish(): CopcNode[] {
    const { nodes, keys } = this;
    nodes.sort((a, b) => a.begin - b.begin);
    let points = 0;
    let orphans = 0;
    for (let i = 0; i < nodes.length; i++) {
      const n = nodes[i];
      points += n.points;
      if (i > 0 && n.begin < nodes[i - 1].end) throw this.fault('two nodes share the same bytes', n.begin);
      if (n.level > 0 && !keys.has(`${n.level - 1}-${n.x >> 1}-${n.y >> 1}-${n.z >> 1}`)) orphans++;
    }
    const root = [...this.pages][0] ?? 0;
    if (orphans > 0) this.add('copc-parent', root, orphans, 0, `${orphans} nodes have no parent in the hierarchy`);
    if (points !== this.header.pointCount) {
      const text = `the hierarchy lists ${grouped(points)} points, the header announces ${grouped(this.header.pointCount)}`;
      this.add('copc-count', root, points, this.header.pointCount, text);
    }
    return nodes;
  }

  private add(
    rule: Oddity['rule'],
    offset: number,
    found: string | number,
    expected: string | number,
    text: string,
  ): void {
    this.oddities.push({ rule, offset, found, expected, text });
  }

  private fault(what: string, offset: number): Fault {
    return new Fault({
      code: 'copc-hierarchy',
      what: `the hierarchy is damaged: ${what} (byte ${offset})`,
      where: this.source.name,
      advice: 'Copy the file again; if that does not help, write it again.',
    });
  }
}
