import { setTimeout as sleep } from 'node:timers/promises';
import { Fault } from '../fault.js';
import { changedFault, checkRange } from './source-file.js';

/** Bytes fetched when a remote file is opened: header, records and, mostly, the first hierarchy page. */
const HEAD_BYTES = 65_536;
const ATTEMPTS = 5;
const ATTEMPT_TIMEOUT_MS = 60_000;

/** Retries and timeouts of an HttpSource; the defaults suit servers on the internet. */
export interface HttpPatience {
  /** Requests made for one range before giving up. */
  attempts?: number;
  /** Wait before the second request, doubled each time, milliseconds. */
  firstWaitMs?: number;
  /** Time one request may take, milliseconds. */
  timeoutMs?: number;
}

interface Answer {
  bytes: Uint8Array;
  /** Size of the whole file, from Content-Range. */
  total: number;
  tag: string;
}

/**
 * A file on a web server, read with ranged GET requests only: signed addresses often allow GET and refuse HEAD. The size
 * comes from the first answer's Content-Range.
 */
export class HttpSource {
  readonly address: string;
  readonly name: string;
  readonly size: number;
  readonly identity: string;
  /** Requests sent and bytes received so far, retries included. */
  readonly traffic = { requests: 0, bytes: 0 };
  private readonly link: Link;
  private readonly head: Uint8Array;
  private readonly tag: string;

  private constructor(address: string, link: Link, first: Answer) {
    this.address = address;
    this.link = link;
    this.name = link.name;
    this.head = first.bytes;
    this.size = first.total;
    this.tag = first.tag;
    this.identity = identityOfAnswer(first);
    this.traffic = link.traffic;
  }

  /**
   * @throws Fault remote-missing, remote-refused, remote-no-ranges, remote-error, remote-unreachable, remote-empty
   */
  static async open(address: string, patience: HttpPatience = {}): Promise<HttpSource> {
    const link = new Link(address, patience);
    return new HttpSource(address, link, await link.get(0, HEAD_BYTES, null));
  }

  /** As the identity of an opened source, from an answer of one byte. @throws Fault as `open` */
  static async identityOf(address: string, patience: HttpPatience = {}): Promise<string> {
    return identityOfAnswer(await new Link(address, patience).get(0, 1, null));
  }

  /** See Source.read. @throws Fault file-truncated, file-changed, and what `open` throws */
  async read(begin: number, end: number, into?: Uint8Array): Promise<Uint8Array> {
    checkRange(begin, end, this.size, this.link.shown);
    const length = end - begin;
    const target = into && into.byteLength >= length ? into.subarray(0, length) : null;
    let bytes: Uint8Array;
    if (length === 0 || end <= this.head.length) {
      bytes = this.head.subarray(begin, end);
    } else {
      const answer = await this.link.get(begin, end, { size: this.size, tag: this.tag });
      bytes = answer.bytes;
    }
    if (!target) return bytes;
    target.set(bytes);
    return target;
  }

  async close(): Promise<void> {}
}

function identityOfAnswer({ total, tag }: Answer): string {
  return `${total}-${tag}`;
}

/** One address: sends requests, tries again, and turns what comes back into bytes or a Fault. */
class Link {
  readonly traffic = { requests: 0, bytes: 0 };
  /** The address without user name, password and query, which may be secret. */
  readonly shown: string;
  readonly name: string;
  private readonly url: string;
  private readonly authorization: string | null;
  private readonly patience: Required<HttpPatience>;

  constructor(address: string, patience: HttpPatience) {
    let url: URL;
    try {
      url = new URL(address);
    } catch (error) {
      throw new Fault({ code: 'address-unsupported', what: 'this is not a valid URL', where: address }, error);
    }
    this.shown = `${url.protocol}//${url.host}${url.pathname}`;
    this.name = decodeURIComponent(url.pathname.split('/').filter(Boolean).pop() ?? url.host);
    this.authorization = url.username
      ? `Basic ${Buffer.from(`${decodeURIComponent(url.username)}:${decodeURIComponent(url.password)}`).toString('base64')}`
      : null;
    url.username = '';
    url.password = '';
    this.url = url.href;
    this.patience = { attempts: ATTEMPTS, firstWaitMs: 250, timeoutMs: ATTEMPT_TIMEOUT_MS, ...patience };
  }

  /** Bytes begin to end; before the size is known (`known` null) the file may turn out to be shorter. */
  async get(begin: number, end: number, known: { size: number; tag: string } | null): Promise<Answer> {
    let last: Fault | null = null;
    for (let attempt = 0; attempt < this.patience.attempts; attempt++) {
      if (attempt > 0) await sleep(this.patience.firstWaitMs * 2 ** (attempt - 1));
      const outcome = await this.attempt(begin, end, known);
      if (!(outcome instanceof Fault)) return outcome;
      last = outcome;
    }
    throw last ?? this.fault('remote-error', 'no request was made');
  }

  /** Returns a Fault when a retry may succeed; throws one when it cannot. */
  private async attempt(
    begin: number,
    end: number,
    known: { size: number; tag: string } | null,
  ): Promise<Answer | Fault> {
    const headers: Record<string, string> = { range: `bytes=${begin}-${end - 1}`, 'accept-encoding': 'identity' };
    if (this.authorization) headers.authorization = this.authorization;
    this.traffic.requests++;
    let response: Response;
    let bytes: Uint8Array;
    const signal = AbortSignal.timeout(this.patience.timeoutMs);
    try {
      response = await fetch(this.url, { headers, signal, redirect: 'follow' });
      if (response.status !== 206) {
        await response.body?.cancel();
        return this.refusal(response, begin, end);
      }
      bytes = new Uint8Array(await response.arrayBuffer());
    } catch (error) {
      if (error instanceof Fault) throw error;
      const cause = (error as { cause?: { code?: string; message?: string } }).cause;
      const reason = cause?.code ?? cause?.message ?? (error as Error).message;
      return this.fault(
        'remote-unreachable',
        `the server could not be reached or broke off (${reason})`,
        undefined,
        error,
      );
    }
    this.traffic.bytes += bytes.length;
    return this.check(response, bytes, begin, end, known);
  }

  private check(
    r: Response,
    bytes: Uint8Array,
    begin: number,
    end: number,
    known: { size: number; tag: string } | null,
  ): Answer | Fault {
    const range = /^bytes (\d+)-(\d+)\/(\d+)$/.exec(r.headers.get('content-range') ?? '');
    if (!range) {
      const found = r.headers.get('content-range') ?? 'no Content-Range';
      throw this.fault('remote-no-ranges', `the server does not say which bytes it sent (${found})`, RANGE_ADVICE);
    }
    const [from, to, total] = range.slice(1).map(Number);
    const tag = r.headers.get('etag') ?? r.headers.get('last-modified') ?? '';
    if (known && (total !== known.size || tag !== known.tag)) {
      throw changedFault(this.shown);
    }
    const expectedEnd = Math.min(end, total);
    if (from !== begin || to + 1 !== expectedEnd) {
      throw this.fault(
        'remote-no-ranges',
        `bytes ${begin}-${expectedEnd - 1} were asked for and ${from}-${to} sent`,
        RANGE_ADVICE,
      );
    }
    if (bytes.length !== expectedEnd - begin) {
      return this.fault(
        'remote-unreachable',
        `the answer broke off after ${bytes.length} of ${expectedEnd - begin} bytes`,
      );
    }
    return { bytes, total, tag };
  }

  /** An answer other than 206. */
  private refusal(response: Response, begin: number, end: number): Fault {
    const { status } = response;
    if (status >= 500 || status === 429 || status === 408) {
      return this.fault(
        'remote-error',
        `the server answered ${status} for bytes ${begin}-${end - 1}`,
        'Try again later.',
      );
    }
    if (status === 404 || status === 410) {
      throw this.fault('remote-missing', `the server has no such file (${status})`, 'Check the address.');
    }
    if (status === 401 || status === 403) {
      throw this.fault(
        'remote-refused',
        `the server refuses access (${status})`,
        'Check that a signed address has not expired.',
      );
    }
    if (status === 416) {
      const empty = /\*\/0$/.test(response.headers.get('content-range') ?? '');
      const what = empty
        ? 'the file on the server is empty'
        : `the server says bytes ${begin}-${end - 1} are outside the file (416)`;
      throw this.fault(empty ? 'remote-empty' : 'file-changed', what);
    }
    if (status === 200) {
      throw this.fault(
        'remote-no-ranges',
        'the server sends the whole file instead of the bytes asked for (200)',
        RANGE_ADVICE,
      );
    }
    throw this.fault('remote-error', `the server answered ${status} instead of 206`, 'Check the address.');
  }

  private fault(code: string, what: string, advice?: string, cause?: unknown): Fault {
    return new Fault({ code, what, where: this.shown, ...(advice ? { advice } : {}) }, cause);
  }
}

const RANGE_ADVICE =
  'The server must support range requests (206 Partial Content with Content-Range); turn them on there, or download the file first.';
