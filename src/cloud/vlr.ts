import { collectFormatIssues, type FormatIssue, type ReportIssue } from './format-issue.js';
import type { Header } from './header.js';
import { HEADER_SIZES } from './point-formats.js';
import type { Source } from './source.js';
import { fixedText } from './text.js';

/** A variable length record, or an extended one. */
export interface Vlr {
  userId: string;
  recordId: number;
  description: string;
  /** Absolute byte position of the record's own header. */
  offset: number;
  /** Absolute byte position of the payload. */
  payloadOffset: number;
  /** Bytes of payload, as stated. */
  length: number;
  /** Whether it is an extended record, behind the points. */
  extended: boolean;
  payload: Uint8Array;
  /** Payloads too large to be metadata (waveforms, hierarchies) are not read: `payload` is empty and this is true. */
  skipped: boolean;
}

const VLR_HEADER = 54;
const EVLR_HEADER = 60;
/** A VLR payload cannot be longer than its 16-bit length says; extended ones are only read up to this. */
const PAYLOAD_MAX = 4 << 20;
/** Limits on the bytes of all payloads and on the number of records, to bound memory for damaged files. */
const TOTAL_MAX = 64 << 20;
const RECORDS_MAX = 20_000;
const WINDOW = 65_536;

/** Records found, and violations of the format rules in them. */
export interface Records {
  vlrs: Vlr[];
  formatIssues: FormatIssue[];
}

/** Whether a record is this one. */
export function isRecord(vlr: Vlr, userId: string, recordId: number): boolean {
  return vlr.recordId === recordId && vlr.userId === userId;
}

/** The first such record, or null. */
export function findRecord(vlrs: readonly Vlr[], userId: string, recordId: number): Vlr | null {
  return vlrs.find((v) => isRecord(v, userId, recordId)) ?? null;
}

/**
 * Reads the VLRs before the points and the EVLRs behind them. Never reads or allocates more than the file has, whatever
 * counts and lengths claim.
 * @throws Fault only when the source cannot be read
 */
export async function readRecords(source: Source, header: Header): Promise<Records> {
  const walk = new Walk(source, header.versionMinor);
  // With an impossibly small header size, fields of the header would be read as records.
  const least = HEADER_SIZES[header.versionMinor] ?? HEADER_SIZES[0];
  const begin = header.headerSize >= HEADER_SIZES[0] ? header.headerSize : least;
  // Points inside the header leave no room for records; the header's own rule says so.
  if (header.pointOffset >= begin)
    await walk.run(begin, Math.min(header.pointOffset, source.size), header.vlrCount, false);
  if (walk.end > 0 && walk.vlrs.length === header.vlrCount) await walk.gap(header.pointOffset);
  if (header.evlrCount > 0 && header.evlrStart >= header.pointOffset && header.evlrStart < source.size) {
    await walk.run(header.evlrStart, source.size, header.evlrCount, true);
  }
  return { vlrs: walk.vlrs, formatIssues: walk.formatIssues };
}

/** Bytes 0xDD 0xCC stand before the points of LAS 1.0, 0xAABB in front of its records (from memory of its text). */
const POINT_MARK = 0xccdd;
const RECORD_MARK = 0xaabb;

class Walk {
  readonly vlrs: Vlr[] = [];
  readonly formatIssues: FormatIssue[];
  readonly add: ReportIssue;
  end = 0;
  private kept = 0;
  private windowBegin = 0;
  private window: Uint8Array = new Uint8Array(0);

  constructor(
    private readonly source: Source,
    private readonly versionMinor: number,
  ) {
    const { formatIssues, add } = collectFormatIssues();
    this.formatIssues = formatIssues;
    this.add = add;
  }

  /** What lies between the last record and the points. */
  async gap(pointOffset: number): Promise<void> {
    const { end } = this;
    let gap = pointOffset - end;
    if (this.versionMinor === 0) {
      const mark = gap >= 2 ? new DataView((await this.bytes(pointOffset - 2, pointOffset)).slice().buffer) : null;
      if (mark?.getUint16(0, true) !== POINT_MARK) {
        const found = mark ? 'other bytes' : 'none';
        this.add('point-mark', pointOffset, found, '0xDD 0xCC', 'LAS 1.0 has a mark of two bytes before the points');
      }
      if (mark) gap -= 2;
    }
    if (gap > 0)
      this.add('vlr-gap', end, gap, 0, `${gap} bytes between the last record and the points belong to nothing`);
  }

  async run(begin: number, limit: number, count: number, extended: boolean): Promise<void> {
    const headerBytes = extended ? EVLR_HEADER : VLR_HEADER;
    const word = extended ? 'extended record' : 'record';
    let at = begin;
    let found = 0;
    while (found < count && found < RECORDS_MAX && at + headerBytes <= limit) {
      const vlr = await this.one(at, extended);
      if (vlr.payloadOffset + vlr.length > limit) {
        const rule = extended ? 'evlr-beyond-file' : 'vlr-beyond-points';
        const room = limit - vlr.payloadOffset;
        const side = extended ? 'the end of the file' : 'the start of the points';
        this.add(
          rule,
          at,
          vlr.length,
          `at most ${room}`,
          `${word} ${found + 1} (${label(vlr)}) reaches beyond ${side}`,
        );
        this.end = at;
        return;
      }
      await this.fill(vlr);
      this.vlrs.push(vlr);
      at = vlr.payloadOffset + vlr.length;
      found++;
    }
    this.end = at;
    if (found < count) {
      const rule = extended ? 'evlr-count' : 'vlr-count';
      this.add(
        rule,
        extended ? 243 : 100,
        found,
        count,
        `the header announces ${count} ${word}${count === 1 ? '' : 's'} and ${found === 0 ? 'none' : found} can be read`,
      );
    }
  }

  private async one(at: number, extended: boolean): Promise<Vlr> {
    const size = extended ? EVLR_HEADER : VLR_HEADER;
    const bytes = await this.bytes(at, at + size);
    const view = new DataView(bytes.buffer, bytes.byteOffset, size);
    const user = fixedText(bytes, 2, 16);
    const description = fixedText(bytes, extended ? 28 : 22, 32);
    const length = extended
      ? view.getUint32(20, true) + view.getUint32(24, true) * 4294967296
      : view.getUint16(20, true);
    const vlr: Vlr = {
      userId: user.text,
      recordId: view.getUint16(18, true),
      description: description.text,
      offset: at,
      payloadOffset: at + size,
      length,
      extended,
      payload: new Uint8Array(0),
      skipped: true,
    };
    const reserved = view.getUint16(0, true);
    // Up to 1.3 a mark of LAS 1.0 was left standing here; 1.4 asks for zero.
    if (reserved !== 0 && (reserved !== RECORD_MARK || this.versionMinor >= 4)) {
      this.add('vlr-reserved', at, reserved, 0, `the reserved field of record ${label(vlr)} is not zero`);
    }
    if (user.text === '') this.add('vlr-user-id', at + 2, 'nothing', 'a name', 'a record names nobody as its owner');
    if (!user.padded || !description.padded) {
      this.add(
        'vlr-text',
        at + 2,
        'text behind the terminator',
        'zero bytes',
        `a text of record ${label(vlr)} is not filled up with zeros`,
      );
    }
    return vlr;
  }

  private async fill(vlr: Vlr): Promise<void> {
    if (vlr.length > PAYLOAD_MAX || this.kept + vlr.length > TOTAL_MAX) return;
    // Waveforms and COPC hierarchies are data, read piece by piece by those who need them.
    if (isRecord(vlr, 'LASF_Spec', 65535) || isRecord(vlr, 'copc', 1000)) return;
    vlr.payload = (await this.bytes(vlr.payloadOffset, vlr.payloadOffset + vlr.length)).slice();
    vlr.skipped = false;
    this.kept += vlr.length;
  }

  /** Bytes of the file by way of a window, so that many small records cost few reads. */
  private async bytes(begin: number, end: number): Promise<Uint8Array> {
    if (begin < this.windowBegin || end > this.windowBegin + this.window.length) {
      const reach = Math.min(this.source.size, Math.max(end, begin + WINDOW));
      this.window = await this.source.read(begin, reach);
      this.windowBegin = begin;
    }
    return this.window.subarray(begin - this.windowBegin, end - this.windowBegin);
  }
}

function label(vlr: Vlr): string {
  return `${JSON.stringify(vlr.userId)} ${vlr.recordId}`;
}
