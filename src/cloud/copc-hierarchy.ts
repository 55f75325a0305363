import { Fault } from '../fault.js';
import type { Piece } from './cloud.js';
import type { CopcInfo } from './copc.js';
import { type CopcRule, collectFormatIssues, type FormatIssue, type ReportIssue } from './format-issue.js';
import type { Header } from './header.js';
import type { Source } from './source.js';
import { grouped } from './text.js';

/** A node of the octree with points. */
export interface CopcNode extends Piece {
  level: number;
  place: readonly [x: number, y: number, z: number];
}

const ENTRY_BYTES = 32;
/** Limits for damaged hierarchies; real ones have some thousand nodes. */
const PAGES_MAX = 100_000;
const NODES_MAX = 4_000_000;
const PAGE_BYTES_MAX = 128 << 20;

/**
 * Reads the hierarchy page by page: the nodes with points, in the order of the file. Layout: COPC 1.0,
 * "hierarchy VLR". Pages in a loop, pages and nodes outside the file are refused; what leaves the points readable is listed.
 * @throws Fault file-truncated, copc-hierarchy
 */
export async function readHierarchy(
  source: Source,
  header: Header,
  info: CopcInfo,
  formatIssues: FormatIssue[],
): Promise<CopcNode[]> {
  const walk = new HierarchyWalk(source, header);
  try {
    await walk.page(info.rootOffset, info.rootSize);
    return walk.finish();
  } finally {
    for (const one of walk.formatIssues.slice(0, ODDITIES_MAX)) formatIssues.push(one);
  }
}

/** Limit on reported issues: a damaged page violates the same rule in thousands of entries. */
const ODDITIES_MAX = 1000;

class HierarchyWalk {
  readonly formatIssues: FormatIssue[];
  private readonly add: ReportIssue;
  private readonly nodes: CopcNode[] = [];
  private readonly keys = new Set<string>();
  private readonly pages = new Set<number>();
  private readonly queue: { offset: number; size: number }[] = [];
  private entries = 0;

  constructor(
    private readonly source: Source,
    private readonly header: Header,
  ) {
    const { formatIssues, add } = collectFormatIssues();
    this.formatIssues = formatIssues;
    this.add = add;
  }

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
    if (this.pages.has(offset))
      throw this.fault('copc-page-loop', 'a page is listed twice, its pages run in a loop', at);
    if (!Number.isSafeInteger(offset + size) || offset + size > this.source.size) {
      throw this.truncated('copc-page-outside', 'a page of its hierarchy', `a page at ${offset} of ${size} bytes`, at);
    }
    if (size < ENTRY_BYTES || size > PAGE_BYTES_MAX || this.pages.size >= PAGES_MAX)
      throw this.fault('copc-page-size', `a page of ${size} bytes is impossible`, at);
    if (size % ENTRY_BYTES !== 0) {
      const text = 'a hierarchy page has no whole number of entries';
      this.add('copc-page-size', at, size, `a multiple of ${ENTRY_BYTES}`, text);
    }
    this.pages.add(offset);
    this.queue.push({ offset, size });
  }

  private entry(view: DataView, at: number, where: number): void {
    if (++this.entries > NODES_MAX) throw this.fault('copc-entry-count', 'it has more nodes than can be true', where);
    const [level, x, y, z] = [0, 4, 8, 12].map((d) => view.getInt32(at + d, true));
    const offset = Number(view.getBigUint64(at + 16, true));
    const size = view.getInt32(at + 24, true);
    const points = view.getInt32(at + 28, true);
    if (points < -1) throw this.fault('copc-entry-count', `a node has ${points} points`, where + 28);
    const key = `${level}-${x}-${y}-${z}`;
    const reach = level >= 0 && level < 31 ? 2 ** level : 0;
    if (!(x >= 0 && x < reach && y >= 0 && y < reach && z >= 0 && z < reach)) {
      this.add('copc-key', where, key, 'a key of the octree', 'a node lies outside the octree');
    }
    if (points === -1) {
      this.enqueue(offset, size, where);
      return;
    }
    if (this.keys.has(key)) throw this.fault('copc-key-repeated', `node ${key} is listed twice`, where);
    this.keys.add(key);
    if (points === 0) {
      if (offset === 0 && size === 0) return;
      const text = `node ${key} has no points but a place`;
      this.add('copc-entry-empty', where + 16, `${size} bytes at ${offset}`, '0 at 0', text);
      return;
    }
    if (size < this.header.recordLength)
      throw this.fault('copc-chunk-outside', `node ${key} has ${size} bytes for ${points} points`, where + 24);
    if (!Number.isSafeInteger(offset + size) || offset + size > this.source.size || offset < this.header.pointOffset) {
      const expected = `points at ${offset} of ${size} bytes`;
      throw this.truncated('copc-chunk-outside', 'points that its hierarchy lists', expected, where + 16);
    }
    this.nodes.push({ begin: offset, end: offset + size, points, level, place: [x, y, z] });
  }

  finish(): CopcNode[] {
    const { nodes, keys } = this;
    nodes.sort((a, b) => a.begin - b.begin);
    let points = 0;
    let orphans = 0;
    for (let i = 0; i < nodes.length; i++) {
      const n = nodes[i];
      points += n.points;
      if (i > 0 && n.begin < nodes[i - 1].end)
        throw this.fault('copc-chunk-overlap', 'two nodes share the same bytes', n.begin);
      const [x, y, z] = n.place;
      if (n.level > 0 && !keys.has(`${n.level - 1}-${x >> 1}-${y >> 1}-${z >> 1}`)) orphans++;
    }
    const root = [...this.pages][0] ?? 0;
    if (orphans > 0) this.add('copc-parent', root, orphans, 0, `${orphans} nodes have no parent in the hierarchy`);
    if (points !== this.header.pointCount) {
      const text = `the hierarchy lists ${grouped(points)} points, the header announces ${grouped(this.header.pointCount)}`;
      this.add('copc-count', root, points, this.header.pointCount, text);
    }
    return nodes;
  }

  private truncated(rule: CopcRule, what: string, expected: string, offset: number): Fault {
    return new Fault({
      code: 'file-truncated',
      what: `the file has no room for ${what}`,
      where: this.source.name,
      found: `${this.source.size} bytes`,
      expected,
      advice: 'The transfer was probably cut short: copy the file again.',
      rule,
      offset,
    });
  }

  private fault(rule: CopcRule, what: string, offset: number): Fault {
    return new Fault({
      code: 'copc-hierarchy',
      what: `the hierarchy is damaged: ${what} (byte ${offset})`,
      where: this.source.name,
      advice: 'Copy the file again; if that does not help, write it again.',
      rule,
      offset,
    });
  }
}
