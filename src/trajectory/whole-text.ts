import { Fault } from '../fault.js';
import { INPUT_BYTES_MAX } from '../spec/input-file.js';
import type { FormatReader, RawFile } from './raw-drive.js';

/** Reads formats that are not made of lines: the text is kept until its end, and limited in size. */
export class WholeText implements FormatReader {
  readonly #where: string;
  readonly #read: (text: string, where: string) => RawFile;
  readonly #pieces: Uint8Array[] = [];
  #bytes = 0;

  constructor(where: string, read: (text: string, where: string) => RawFile) {
    this.#where = where;
    this.#read = read;
  }

  add(piece: Uint8Array): void {
    this.#bytes += piece.length;
    if (this.#bytes > INPUT_BYTES_MAX) {
      throw new Fault({
        code: 'file-too-large',
        where: this.#where,
        what: `a trajectory in this format may have ${INPUT_BYTES_MAX >> 20} MiB at most`,
        advice: 'Give it as a table (CSV), which may have any size',
      });
    }
    this.#pieces.push(piece.slice());
  }

  finish(): RawFile {
    const bytes = Buffer.concat(this.#pieces);
    try {
      return this.#read(new TextDecoder('utf-8', { fatal: true }).decode(bytes), this.#where);
    } catch (error) {
      if (error instanceof Fault) throw error;
      if (!(error instanceof TypeError)) throw error;
      throw new Fault({ code: 'trajectory-table', where: this.#where, what: 'the text is not UTF-8' }, error);
    }
  }
}
