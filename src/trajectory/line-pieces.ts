import { Fault } from '../fault.js';

/** Longest line of a trajectory, bytes: rows have a few hundred. */
const LONGEST_LINE = 1 << 20;

/**
 * Puts pieces of a file together so that whole lines are handed on: a line that goes on in the next piece is kept until then.
 * At most one line is kept.
 */
export class LinePieces {
  readonly #where: string;
  readonly #take: (bytes: Uint8Array, begin: number, end: number) => void;
  #buffer = new Uint8Array(0);
  #kept = 0;

  /** @param take gets bytes of which the last is a line end */
  constructor(where: string, take: (bytes: Uint8Array, begin: number, end: number) => void) {
    this.#where = where;
    this.#take = take;
  }

  /** @throws Fault `trajectory-line` for a line of more than LONGEST_LINE bytes */
  add(piece: Uint8Array): void {
    const last = piece.lastIndexOf(10);
    if (last < 0) {
      this.#keep(piece);
      return;
    }
    let begin = 0;
    if (this.#kept > 0) {
      // The kept line ends in this piece.
      const end = piece.indexOf(10) + 1;
      this.#keep(piece.subarray(0, end));
      const kept = this.#kept;
      this.#kept = 0;
      this.#take(this.#buffer, 0, kept);
      begin = end;
    }
    if (begin <= last) this.#take(piece, begin, last + 1);
    if (last + 1 < piece.length) this.#keep(piece.subarray(last + 1));
  }

  /** Hands on a last line without a line end. */
  finish(): void {
    if (this.#kept === 0) return;
    this.#keep(Uint8Array.of(10));
    this.#take(this.#buffer, 0, this.#kept);
    this.#kept = 0;
  }

  #keep(bytes: Uint8Array): void {
    if (this.#kept + bytes.length > LONGEST_LINE) {
      throw new Fault({
        code: 'trajectory-line',
        where: this.#where,
        what: `a line has more than ${LONGEST_LINE >> 20} MiB without a line end, so this is not a table of rows`,
      });
    }
    if (this.#kept + bytes.length > this.#buffer.length) {
      const larger = new Uint8Array(Math.max(1 << 16, 2 * (this.#kept + bytes.length)));
      larger.set(this.#buffer.subarray(0, this.#kept));
      this.#buffer = larger;
    }
    this.#buffer.set(bytes, this.#kept);
    this.#kept += bytes.length;
  }
}
