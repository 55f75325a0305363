/** Bytes a second that a server must send on average: slower ones are given up, as if they sent nothing. */
const LEAST_BYTES_A_SECOND = 1000;

/** Why a server is given up. */
export type Slowness = 'silent' | 'slow';

/**
 * Watches one answer of a server, from before it is asked until its last byte. The signal aborts, with a `Slowness` as its
 * reason, when no byte has come for `timeoutMs`, or fewer than 1000 a second within that time.
 */
export class AnswerWatch {
  readonly #abort = new AbortController();
  readonly #timeoutMs: number;
  readonly #window: NodeJS.Timeout;
  #silence: NodeJS.Timeout;
  #bytes = 0;

  constructor(timeoutMs: number) {
    this.#timeoutMs = timeoutMs;
    this.#silence = this.#startSilence();
    this.#window = setInterval(() => {
      if (this.#bytes < (LEAST_BYTES_A_SECOND * timeoutMs) / 1000) this.#giveUp('slow');
      this.#bytes = 0;
    }, timeoutMs);
  }

  get signal(): AbortSignal {
    return this.#abort.signal;
  }

  /** Why the server was given up; null while it is not. */
  get slowness(): Slowness | null {
    return this.signal.aborted ? this.signal.reason : null;
  }

  /** Call it for every piece of the answer. */
  received(bytes: number): void {
    this.#bytes += bytes;
    clearTimeout(this.#silence);
    this.#silence = this.#startSilence();
  }

  stop(): void {
    clearTimeout(this.#silence);
    clearInterval(this.#window);
  }

  #startSilence(): NodeJS.Timeout {
    return setTimeout(() => this.#giveUp('silent'), this.#timeoutMs);
  }

  #giveUp(why: Slowness): void {
    this.stop();
    this.#abort.abort(why);
  }
}

/**
 * The body of an answer, of which no more than `expected` bytes are kept and read.
 * @returns the bytes, which may be fewer; null where the server sends more than expected
 */
export async function readBody(response: Response, expected: number, watch: AnswerWatch): Promise<Uint8Array | null> {
  const bytes = new Uint8Array(expected);
  let done = 0;
  for await (const part of response.body ?? []) {
    watch.received(part.byteLength);
    // Leaving the loop ends the transfer.
    if (done + part.byteLength > expected) return null;
    bytes.set(part, done);
    done += part.byteLength;
  }
  return bytes.subarray(0, done);
}

/**
 * Milliseconds that an answer asks to wait before the next request (RFC 9110, section 10.2.3: seconds or a date); null where
 * it does not say.
 */
export function retryAfterMs(response: Response, now = Date.now()): number | null {
  const text = response.headers.get('retry-after')?.trim() ?? '';
  if (/^\d+$/.test(text)) return Number(text) * 1000;
  const date = Date.parse(text);
  return Number.isNaN(date) ? null : Math.max(0, date - now);
}
