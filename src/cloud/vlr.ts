import { HEADER_SIZES } from './formats.js';
import type { Header, Oddity } from './header.js';
import type { OddityRule } from './oddity.js';
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
/** All payloads together, and the number of records: bounds on memory for files that lie. */
const TOTAL_MAX = 64 << 20;
const RECORDS_MAX = 20_000;
const WINDOW = 65_536;

/** Records found, and what is odd about them. */
export interface Records {
  vlrs: Vlr[];
  oddities: Oddity[];
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
  const walk = new Walk(source);
  // A header size too small to be true would make the header's own fields look like records.
  const least = HEADER_SIZES[header.versionMinor] ?? HEADER_SIZES[0];
  const begin = header.headerSize >= HEADER_SIZES[0] ? header.headerSize : least;
  await walk.run(begin, Math.min(header.pointOffset, source.size), header.vlrCount, false);
  if (walk.vlrs.length === header.vlrCount && walk.end < header.pointOffset) {
    const gap = header.pointOffset - walk.end;
    // LAS 1.0 puts a two-byte mark before the points; earlier writers left user data here, which is allowed.
    if (!(header.versionMinor === 0 && gap === 2)) {
      walk.add('vlr-gap', walk.end, gap, 0, `${gap} bytes between the last record and the points belong to nothing`);
    }
  }
  if (header.evlrCount > 0 && header.evlrStart >= header.pointOffset && header.evlrStart < source.size) {
    await walk.run(header.evlrStart, source.size, header.evlrCount, true);
  }
  return { vlrs: walk.vlrs, oddities: walk.oddities };
}

class Walk {
  readonly vlrs: Vlr[] = [];
  readonly oddities: Oddity[] = [];
  end = 0;
  private kept = 0;
  private windowBegin = 0;
  private window: Uint8Array = new Uint8Array(0);

  constructor(private readonly source: Source) {}

  add(rule: OddityRule, offset: number, found: string | number, expected: string | number, text: string): void {
    this.oddities.push({ rule, offset, found, expected, text });
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
        break;
      }
      await this.fill(vlr);
      this.vlrs.push(vlr);
      at = vlr.payloadOffset + vlr.length;
      found++;
    }
    this.end = at;
    if (found < count) {
      const rule = extended ? 'evlr-beyond-file' : 'vlr-count';
      this.add(
        rule,
        extended ? 243 : 100,
        found,
        count,
        `the header announces ${count} ${word}s and ${found} can be read`,
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
    // LAS 1.0 wrote 0xAABB here, and many later writers still do.
    if (reserved !== 0 && reserved !== 0xaabb) {
      this.add('vlr-reserved', at, reserved, 0, `the reserved field of record ${label(vlr)} is not zero`);
    }
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
