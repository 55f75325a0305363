import { Fault } from '../fault.js';
import { readChunkTable } from './chunk-table.js';
import type { ChunkLog, Cloud, CloudFormat, Piece, Span } from './cloud.js';
import type { Column, PointBatch } from './columns.js';
import { type CopcInfo, inspectCopc, isCopc, readCopcInfo } from './copc.js';
import { readHierarchy } from './copc-hierarchy.js';
import { type Crs, readCrs } from './crs.js';
import { type ExtraByte, readExtraBytes } from './extra-bytes.js';
import { collectFormatIssues } from './format-issue.js';
import { type FormatIssue, HEADER_BYTES_MAX, Header } from './header.js';
import { lasDecode, lasSpans } from './las.js';
import { groupPieces, lazDecode } from './laz.js';
import { checkLazRecord, type LazRecord, readLazRecord } from './laz-record.js';
import { inspectLazRecord } from './laz-rules.js';
import { inspectRecords } from './record-rules.js';
import { openSource, type Source } from './source.js';
import { readRecords, type Vlr } from './vlr.js';

/**
 * Opens a cloud from an address or a source; header and records are read, but no points. Violations of the format rules are
 * listed. Errors that make the points unreadable are thrown: here when the header shows them, otherwise by `spans` or
 * `decode`. Closing the cloud closes the source.
 * @throws Fault see openSource and Header.parse
 */
export async function openCloud(from: string | Source): Promise<Cloud> {
  const source = typeof from === 'string' ? await openSource(from) : from;
  try {
    const head = await source.read(0, Math.min(HEADER_BYTES_MAX, source.size));
    const header = Header.parse(head, source.size, source.name);
    const records = await readRecords(source, header);
    return new OpenedCloud(source, header, records.vlrs, records.formatIssues);
  } catch (error) {
    await source.close();
    throw error;
  }
}

class OpenedCloud implements Cloud {
  readonly format: CloudFormat;
  readonly crs: Crs;
  readonly extraBytes: readonly ExtraByte[];
  /** Grows when `spans` finds something odd in the hierarchy. */
  readonly formatIssues: FormatIssue[];
  readonly copc: CopcInfo | null;

  constructor(
    readonly source: Source,
    readonly header: Header,
    readonly vlrs: readonly Vlr[],
    recordOddities: readonly FormatIssue[],
  ) {
    const extra = readExtraBytes(header, vlrs);
    const crs = readCrs(vlrs, header);
    this.extraBytes = extra.extraBytes;
    this.crs = crs.crs;
    this.copc = isCopc(header, vlrs) ? readCopcInfo(vlrs) : null;
    this.format = this.copc ? 'COPC' : header.compressed ? 'LAZ' : 'LAS';
    this.formatIssues = [
      ...header.formatIssues,
      ...recordOddities,
      ...inspectRecords(header, vlrs),
      ...extra.formatIssues,
      ...crs.formatIssues,
      ...inspectLazRecord(header, vlrs, source.size),
      ...(this.copc ? inspectCopc(header, vlrs, this.copc, source.size) : []),
    ];
  }

  async spans(target: number): Promise<Span[]> {
    const { header, source } = this;
    if (header.pointCount === 0) return [];
    this.refuseScale();
    if (this.format === 'LAS') return lasSpans(header, source, target);
    const laz = this.checkedLaz();
    const found: FormatIssue[] = [];
    try {
      if (!this.copc) return groupPieces(await readChunkTable(source, header, laz, found), target);
      const nodes = await readHierarchy(source, header, this.copc, found);
      for (const one of await compareTable(source, header, laz, nodes, found)) found.push(one);
      return groupPieces(nodes, target);
    } finally {
      this.note(found);
    }
  }

  /** A second call of `spans` must not list the same formatIssues again. */
  private note(found: readonly FormatIssue[]): void {
    for (const issue of found) {
      if (!this.formatIssues.some((o) => o.rule === issue.rule && o.offset === issue.offset))
        this.formatIssues.push(issue);
    }
  }

  async decode(
    span: Span,
    columns: ReadonlySet<Column>,
    sink: (batch: PointBatch) => void,
    log?: ChunkLog,
  ): Promise<void> {
    this.refuseScale();
    if (this.format === 'LAS') return lasDecode(this.header, this.source, span, columns, sink);
    const { header, copc, source } = this;
    return lazDecode({ header, record: this.checkedLaz(), copc, source }, span, columns, sink, log);
  }

  close(): Promise<void> {
    return this.source.close();
  }

  private checkedLaz(): LazRecord {
    const laz = readLazRecord(this.vlrs, this.source.name);
    checkLazRecord(laz, this.header, this.source.name);
    return laz;
  }

  private refuseScale(): void {
    const { scale, offset } = this.header;
    for (let i = 0; i < 3; i++) {
      if (Number.isFinite(scale[i]) && scale[i] !== 0 && Number.isFinite(offset[i])) continue;
      throw new Fault({
        code: 'bad-scale',
        what: `the header's ${'xyz'[i]} scale or offset is unusable, coordinates have no meaning`,
        where: this.source.name,
        found: `scale ${scale[i]}, offset ${offset[i]}`,
        expected: 'finite numbers, and a scale that is not zero',
        advice: 'Write the file again with a scale such as 0.001.',
        rule: Number.isFinite(scale[i]) && scale[i] !== 0 ? 'offset' : 'scale',
        offset: (Number.isFinite(scale[i]) && scale[i] !== 0 ? 155 : 131) + 8 * i,
      });
    }
  }
}

/** A COPC file is LAZ too: readers that do not know COPC go by its chunk table, which must list the same nodes. */
async function compareTable(
  source: Source,
  header: Header,
  laz: LazRecord,
  nodes: readonly Piece[],
  known: readonly FormatIssue[],
): Promise<FormatIssue[]> {
  const { formatIssues, add } = collectFormatIssues();
  if (laz.chunkSize !== null) {
    // The table then has no information about the nodes.
    add('copc-chunk-size', 100, laz.chunkSize, 'variable', 'the chunks of a COPC file must be of variable size');
    return formatIssues;
  }
  try {
    const chunks = await readChunkTable(source, header, laz, formatIssues);
    const same = (c: Piece, n: Piece) => c.begin === n.begin && c.end === n.end && c.points === n.points;
    if (chunks.length === nodes.length && chunks.every((c, i) => same(c, nodes[i]))) return formatIssues;
    const text = 'the chunk table and the hierarchy list different chunks';
    add('copc-chunk-table', header.pointOffset, chunks.length, nodes.length, text);
  } catch (error) {
    if (!(error instanceof Fault)) throw error;
    // A different count in the header has been reported by then.
    if (error.facts.rule === 'laz-table-points' && known.some((o) => o.rule === 'copc-count')) return formatIssues;
    add('copc-chunk-table', header.pointOffset, 'unreadable', nodes.length, error.facts.what);
  }
  return formatIssues;
}
