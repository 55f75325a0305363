import { Fault } from '../fault.js';
import { readChunkTable } from './chunk-table.js';
import type { Cloud, Packing, Piece, Span } from './cloud.js';
import type { Column, PointBatch } from './columns.js';
import { type CopcInfo, inspectCopc, isCopc, readCopcInfo, readHierarchy } from './copc.js';
import { type Crs, readCrs } from './crs.js';
import { type ExtraByte, readExtraBytes } from './extra-bytes.js';
import { POINT_FORMATS } from './formats.js';
import { HEADER_BYTES_MAX, Header, type Oddity } from './header.js';
import { lasDecode, lasSpans } from './las.js';
import { groupPieces, lazDecode } from './laz.js';
import { checkLazRecord, inspectLazRecord, type LazRecord, readLazRecord } from './laz-record.js';
import { openSource, type Source } from './source.js';
import { isRecord, readRecords, type Vlr } from './vlr.js';

/**
 * Opens a cloud from an address or a source: header and records are read, no point is. What is odd is listed; what makes
 * the points unreadable is thrown, here when the header shows it, else by `spans` or `decode`. Closing the cloud closes the source.
 * @throws Fault see openSource and Header.parse
 */
export async function openCloud(from: string | Source): Promise<Cloud> {
  const source = typeof from === 'string' ? await openSource(from) : from;
  try {
    const head = await source.read(0, Math.min(HEADER_BYTES_MAX, source.size));
    const header = Header.parse(head, source.size, source.name);
    const records = await readRecords(source, header);
    return new OpenedCloud(source, header, records.vlrs, records.oddities);
  } catch (error) {
    await source.close();
    throw error;
  }
}

class OpenedCloud implements Cloud {
  readonly packing: Packing;
  readonly crs: Crs;
  readonly extraBytes: readonly ExtraByte[];
  /** Grows when `spans` finds something odd in the hierarchy. */
  readonly oddities: Oddity[];
  readonly copc: CopcInfo | null;

  constructor(
    readonly source: Source,
    readonly header: Header,
    readonly vlrs: readonly Vlr[],
    recordOddities: readonly Oddity[],
  ) {
    const extra = readExtraBytes(header, vlrs);
    const crs = readCrs(vlrs, header);
    this.extraBytes = extra.extraBytes;
    this.crs = crs.crs;
    this.copc = isCopc(header, vlrs) ? readCopcInfo(vlrs) : null;
    this.packing = this.copc ? 'COPC' : header.compressed ? 'LAZ' : 'LAS';
    this.oddities = [
      ...header.oddities,
      ...recordOddities,
      ...waveformOddities(header, vlrs),
      ...extra.oddities,
      ...crs.oddities,
      ...inspectLazRecord(header, vlrs),
      ...(this.copc ? inspectCopc(header, vlrs, this.copc, source.size) : []),
    ];
  }

  async spans(target: number): Promise<Span[]> {
    const { header, source } = this;
    if (header.pointCount === 0) return [];
    this.refuseScale();
    if (this.packing === 'LAS') return lasSpans(header, source, target);
    const laz = this.checkedLaz();
    if (!this.copc) return groupPieces(await readChunkTable(source, header, laz), target);
    // A second call must not list the same oddities again.
    const found: Oddity[] = [];
    const nodes = await readHierarchy(source, header, this.copc, found);
    found.push(...(await compareTable(source, header, laz, nodes)));
    for (const oddity of found) {
      if (!this.oddities.some((o) => o.rule === oddity.rule && o.offset === oddity.offset)) this.oddities.push(oddity);
    }
    const pieces: Piece[] = nodes.map(({ begin, end, points }) => ({ begin, end, points }));
    return groupPieces(pieces, target);
  }

  async decode(span: Span, columns: ReadonlySet<Column>, sink: (batch: PointBatch) => void): Promise<void> {
    this.refuseScale();
    if (this.packing === 'LAS') return lasDecode(this.header, this.source, span, columns, sink);
    return lazDecode(this.header, this.checkedLaz(), this.source, span, columns, sink);
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
): Promise<Oddity[]> {
  const odd = (found: string | number, text: string): Oddity[] => [
    { rule: 'laz-chunk-table', offset: header.pointOffset, found, expected: nodes.length, text },
  ];
  try {
    const chunks = await readChunkTable(source, header, laz);
    const same = (c: Piece, n: Piece) => c.begin === n.begin && c.end === n.end && c.points === n.points;
    if (chunks.length === nodes.length && chunks.every((c, i) => same(c, nodes[i]))) return [];
    return odd(chunks.length, 'the chunk table and the hierarchy list different chunks');
  } catch (error) {
    if (!(error instanceof Fault)) throw error;
    return odd('unreadable', error.facts.what);
  }
}

/** Formats with wave packets need descriptors (LASF_Spec 100 to 354) to be of any use. */
function waveformOddities(header: Header, vlrs: readonly Vlr[]): Oddity[] {
  if (POINT_FORMATS[header.pointFormat].waveform < 0) return [];
  if (vlrs.some((v) => v.recordId >= 100 && v.recordId <= 354 && isRecord(v, 'LASF_Spec', v.recordId))) return [];
  const text = `point format ${header.pointFormat} needs a waveform packet descriptor record`;
  return [{ rule: 'waveform-descriptors', offset: 104, found: 0, expected: 'at least 1', text }];
}
