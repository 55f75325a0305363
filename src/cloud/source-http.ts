import { setTimeout as sleep } from 'node:timers/promises';
import { Fault, handlesFault } from '../fault.js';
import { AnswerWatch, readBody, retryAfterMs, type Slowness } from './http-body.js';
import { changedFault, checkRange } from './source-file.js';

/** Bytes fetched when a remote file is opened: header, records and, mostly, the first hierarchy page. */
const HEAD_BYTES = 65_536;
const ATTEMPTS = 5;
/** Without a byte for so long a server is given up. */
const TIMEOUT_SECONDS = 30;
/** A server that asks for a longer wait is not waited for. */
const LONGEST_WAIT_MS = 60_000;

/** Retries and timeouts of an HttpSource; the defaults suit servers on the internet. */
export interface HttpPatience {
  /** Requests made for one range before giving up. */
  attempts?: number;
  /** Wait before the second request, doubled each time, milliseconds. */
  firstWaitMs?: number;
  /** Time without a byte after which the server is given up, milliseconds. */
  timeoutMs?: number;
  /** Longest wait that a server may ask for with Retry-After, milliseconds. */
  longestWaitMs?: number;
}

interface Answer {
  bytes: Uint8Array;
  /** Size of the whole file, from Content-Range. */
  total: number;
  tag: string;
}

/** A request that failed, and may be sent again; `waitMs`: how long the server asks to wait. */
interface Retry {
  fault: Fault;
  waitMs: number;
}

/** What is known of a file: answers must agree with it. */
type Known = Pick<Answer, 'tag'> & { size: number };

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
   * @throws Fault remote-missing, remote-refused, remote-no-ranges, remote-error, remote-unreachable, remote-empty,
   * remote-silent, remote-encoded, remote-too-much
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
      throw new Fault(
        { code: 'address-unsupported', what: 'this is not a valid URL', where: address.replace(/[?#].*$/s, '') },
        error,
      );
    }
    this.shown = `${url.protocol}//${url.host}${url.pathname}`;
    this.name = decodeURIComponent(url.pathname.split('/').filter(Boolean).pop() ?? url.host);
    this.authorization = url.username
      ? `Basic ${Buffer.from(`${decodeURIComponent(url.username)}:${decodeURIComponent(url.password)}`).toString('base64')}`
      : null;
    url.username = '';
    url.password = '';
    this.url = url.href;
    this.patience = {
      attempts: ATTEMPTS,
      firstWaitMs: 250,
      longestWaitMs: LONGEST_WAIT_MS,
      ...patience,
      timeoutMs: patience.timeoutMs ?? TIMEOUT_SECONDS * 1000,
    };
  }

  /** Bytes begin to end; before the size is known (`known` null) the file may turn out to be shorter. */
  async get(begin: number, end: number, known: Known | null): Promise<Answer> {
    const { attempts, firstWaitMs } = this.patience;
    let last: Fault | null = null;
    let silences = 0;
    for (let attempt = 0; attempt < attempts; attempt++) {
      const outcome = await this.attempt(begin, end, known);
      if (!('fault' in outcome)) return outcome;
      last = outcome.fault;
      // A server that once answered may have lost the connection only; another has had its time.
      if (last.facts.code === 'remote-silent' && (known === null || ++silences > 1)) break;
      if (attempt + 1 < attempts) await sleep(Math.max(firstWaitMs * 2 ** attempt, outcome.waitMs));
    }
    throw last ?? this.fault('remote-error', 'no request was made');
  }

  /** Returns a Retry when another request may succeed; throws a Fault when it cannot. */
  private async attempt(begin: number, end: number, known: Known | null): Promise<Answer | Retry> {
    const headers: Record<string, string> = { range: `bytes=${begin}-${end - 1}`, 'accept-encoding': 'identity' };
    if (this.authorization) headers.authorization = this.authorization;
    this.traffic.requests++;
    const watch = new AnswerWatch(this.patience.timeoutMs);
    const { signal } = watch;
    try {
      const response = await fetch(this.url, { headers, signal, redirect: 'follow' });
      try {
        if (response.status !== 206) return this.refusal(response, begin, end);
        const { total, tag, length } = this.announced(response, begin, end, known);
        const bytes = await readBody(response, length, watch);
        if (bytes === null) throw this.tooMuch(length);
        this.traffic.bytes += bytes.length;
        if (bytes.length === length) return { bytes, total, tag };
        return this.again('remote-unreachable', `the answer broke off after ${bytes.length} of ${length} bytes`);
      } finally {
        // Ends the transfer where the body was not read to its end.
        if (!response.bodyUsed) await response.body?.cancel();
      }
    } catch (error) {
      if (error instanceof Fault) throw error;
      const handles = handlesFault((error as Error).cause);
      if (handles !== null) throw handles;
      if (watch.slowness !== null) return this.tooSlow(watch.slowness, error);
      const cause = (error as { cause?: { code?: string; message?: string } }).cause;
      const reason = cause?.code ?? cause?.message ?? (error as Error).message;
      const what = `the server could not be reached or broke off (${reason})`;
      return this.again('remote-unreachable', what, undefined, error);
    } finally {
      watch.stop();
    }
  }

  /** What the header fields of a 206 say: the file, and the bytes that follow. @throws Fault unless they are those asked for */
  private announced(
    r: Response,
    begin: number,
    end: number,
    known: Known | null,
  ): Omit<Answer, 'bytes'> & { length: number } {
    const encoding = r.headers.get('content-encoding') ?? 'identity';
    if (encoding.toLowerCase() !== 'identity') {
      throw this.fault(
        'remote-encoded',
        `the server sends compressed bytes (${encoding}), although uncompressed ones were asked for`,
        'Turn compression off for these files on the server, or download the file first.',
      );
    }
    const range = /^bytes (\d+)-(\d+)\/(\d+)$/.exec(r.headers.get('content-range') ?? '');
    if (!range) {
      const found = r.headers.get('content-range') ?? 'no Content-Range';
      throw this.fault('remote-no-ranges', `the server does not say which bytes it sent (${found})`, RANGE_ADVICE);
    }
    const [from, to, total] = range.slice(1).map(Number);
    const tag = r.headers.get('etag') ?? r.headers.get('last-modified') ?? '';
    if (known && (total !== known.size || tag !== known.tag)) throw changedFault(this.shown);
    const expectedEnd = Math.min(end, total);
    if (from !== begin || to + 1 !== expectedEnd) {
      throw this.fault(
        'remote-no-ranges',
        `bytes ${begin}-${expectedEnd - 1} were asked for and ${from}-${to} sent`,
        RANGE_ADVICE,
      );
    }
    const length = expectedEnd - begin;
    if (Number(r.headers.get('content-length') ?? length) > length) throw this.tooMuch(length);
    return { total, tag, length };
  }

  private tooMuch(length: number): Fault {
    return this.fault(
      'remote-too-much',
      `the server sends more than the ${length} bytes that were asked for`,
      RANGE_ADVICE,
    );
  }

  private tooSlow(slowness: Slowness, error: unknown): Retry {
    const seconds = this.patience.timeoutMs / 1000;
    const what =
      slowness === 'silent'
        ? `the server sent nothing for ${seconds} s`
        : `the server sends fewer than 1000 bytes a second, for ${seconds} s by now`;
    return this.again('remote-silent', what, 'Try again later, or give it more time with --timeout.', error);
  }

  /** An answer other than 206. */
  private refusal(response: Response, begin: number, end: number): Retry {
    const { status } = response;
    if (status >= 500 || status === 429 || status === 408) {
      const waitMs = retryAfterMs(response) ?? 0;
      const what = `the server answered ${status} for bytes ${begin}-${end - 1}`;
      if (waitMs <= this.patience.longestWaitMs)
        return { ...this.again('remote-error', what, 'Try again later.'), waitMs };
      const seconds = Math.ceil(waitMs / 1000);
      throw this.fault('remote-error', `${what} and asks to wait ${seconds} s`, 'Try again after that time.');
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

  private again(code: string, what: string, advice?: string, cause?: unknown): Retry {
    return { fault: this.fault(code, what, advice, cause), waitMs: 0 };
  }

  private fault(code: string, what: string, advice?: string, cause?: unknown): Fault {
    return new Fault({ code, what, where: this.shown, ...(advice ? { advice } : {}) }, cause);
  }
}

const RANGE_ADVICE =
  'The server must support range requests (206 Partial Content with Content-Range); turn them on there, or download the file first.';
