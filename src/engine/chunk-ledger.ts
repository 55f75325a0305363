import { compareChunks } from '../cloud/chunk-compare.js';
import type { ChunkFacts, DamagedChunk } from '../cloud/chunk-guard.js';
import type { DeliveredFile } from '../delivery/delivery.js';
import type { SpanResult, SpanTask } from './job.js';

/** The damaged chunks that one reading finds. */
export class ChunkLedger {
  readonly #files: readonly DeliveredFile[];
  /** By file: number of spans that are not read yet, what is known of the chunks, and chunks that could not be decoded. */
  readonly #spansLeft: number[];
  readonly #chunks: ChunkFacts[][];
  readonly #undecoded: DamagedChunk[][];
  /** By file: chunks that could be decoded but do not agree with the other chunks. Their points were measured. */
  readonly #inconsistent: DamagedChunk[][];

  constructor(files: readonly DeliveredFile[], tasks: readonly SpanTask[]) {
    this.#files = files;
    this.#spansLeft = files.map(() => 0);
    for (const { file } of tasks) this.#spansLeft[file]++;
    this.#chunks = files.map(() => []);
    this.#undecoded = files.map(() => []);
    this.#inconsistent = files.map(() => []);
  }

  /** Notes the chunks of a result. The chunks of a file are compared as soon as all of its spans are read. */
  addChunks({ tasks, damaged, chunks }: SpanResult): void {
    for (const { file, chunk } of damaged) this.#undecoded[file].push(chunk);
    for (const { file, chunk } of chunks) this.#chunks[file].push(chunk);
    for (const { file } of tasks) if (--this.#spansLeft[file] === 0) this.#compare(file);
  }

  /** Sorted first, so that the outcome does not depend on the order of the results. */
  #compare(file: number): void {
    const { header } = this.#files[file];
    const chunks = this.#chunks[file].sort((a, b) => a.first - b.first);
    if (header !== null) this.#inconsistent[file] = compareChunks(header, chunks);
    this.#chunks[file] = [];
  }

  /** Whether points of damaged chunks were measured, so that everything must be read again without these chunks. */
  get mustRepeat(): boolean {
    return this.#inconsistent.some((chunks) => chunks.length > 0);
  }

  /** The damaged chunks of a file. */
  foundIn(file: number): DamagedChunk[] {
    return [...this.#undecoded[file], ...this.#inconsistent[file]];
  }
}
