import type { DeliveredFile } from '../delivery/delivery.js';
import type { FactRequest } from '../measure/contract/measurement.js';
import type { BlockStore } from './block-store.js';
import { ChunkLedger } from './chunk-ledger.js';
import { addDamage } from './damaged-chunks.js';
import { Facts } from './facts.js';
import { type SpanResult, type SpanTask, spanKey } from './job.js';
import { SpanFaults } from './span-faults.js';

/** The outcome of one reading of all points: results of the spans are added until all are there. */
export class Reading {
  readonly facts: Facts;
  readonly faults = new SpanFaults();
  /** By `spanKey`: extent of the points of each span, quanta: min east, north, up, max east, north, up. */
  readonly boxes = new Map<string, Float64Array>();
  readonly blocks: BlockStore | null;
  readonly ledger: ChunkLedger;
  readonly #skippedChunks: readonly (readonly number[])[];

  /**
   * @param roots the measurements, as `measurementsBehind` returns them
   * @param blocks takes the states that are cut into blocks; null where no measurement of this reading is
   * @param skippedChunks by file: first bytes of the chunks that are left out
   */
  constructor(
    files: readonly DeliveredFile[],
    tasks: readonly SpanTask[],
    roots: readonly FactRequest[],
    blocks: BlockStore | null,
    skippedChunks: readonly (readonly number[])[],
  ) {
    this.facts = new Facts(roots, blocks);
    this.blocks = blocks;
    this.ledger = new ChunkLedger(files, tasks);
    this.#skippedChunks = skippedChunks;
  }

  /** Adds the result of some spans. Call it once for each result, in any order. */
  addResult(result: SpanResult): void {
    this.ledger.addChunks(result);
    this.facts.addResult(result);
    this.faults.add(result);
    result.tasks.forEach((task, i) => {
      this.boxes.set(spanKey(task), result.boxes.subarray(i * 6, i * 6 + 6));
    });
  }

  /** Whether a file, all of whose spans were added, has no damaged chunk. */
  isSound(file: number): boolean {
    return this.#skippedChunks[file].length === 0 && this.ledger.foundIn(file).length === 0;
  }
}

/**
 * Reads all points so that no point of a damaged chunk is measured. A chunk that cannot be decoded is left out at once.
 * Where a chunk turns out to be damaged only when it is compared with the other chunks of its file, everything is read
 * again without it. Damaged chunks are noted in `files`; they are the same for any number of workers and any size of spans.
 * @param readOnce reads everything once, without the chunks it is given (by file: their first bytes), into a new Reading
 * @returns the last reading
 */
export async function readWithoutDamage(
  files: readonly DeliveredFile[],
  readOnce: (skippedChunks: number[][]) => Promise<Reading>,
): Promise<Reading> {
  for (;;) {
    const reading = await readOnce(files.map(({ damage }) => damage.map((chunk) => chunk.begin)));
    for (const file of files) addDamage(file, reading.ledger.foundIn(file.index));
    if (!reading.ledger.mustRepeat) return reading;
  }
}
