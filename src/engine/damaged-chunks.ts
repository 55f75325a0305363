import { compareChunks } from '../cloud/chunk-compare.js';
import { type ChunkFacts, chunkFault, type DamagedChunk, placeOfChunk } from '../cloud/chunk-guard.js';
import { grouped } from '../cloud/text.js';
import type { DeliveredFile } from '../delivery/delivery.js';
import { Fault } from '../fault.js';
import type { Assignment, SpanResult, SpanTask } from './job.js';

const DAMAGED = 'laz-chunk-damaged';

/** What became known of damaged chunks while tasks were run once. */
class ChunkLedger {
  readonly #files: readonly DeliveredFile[];
  /** By file: spans that are still to come, and what the others told. */
  readonly #left: number[];
  readonly #chunks: ChunkFacts[][];
  readonly #undecoded: DamagedChunk[][];
  /** Chunks that cannot be right beside the others of their file: their points were counted. */
  readonly accused: DamagedChunk[][];

  constructor(files: readonly DeliveredFile[], tasks: readonly SpanTask[]) {
    this.#files = files;
    this.#left = files.map(() => 0);
    for (const { file } of tasks) this.#left[file]++;
    this.#chunks = files.map(() => []);
    this.#undecoded = files.map(() => []);
    this.accused = files.map(() => []);
  }

  addResult({ tasks, damaged, chunks }: SpanResult): void {
    for (const { file, chunk } of damaged) this.#undecoded[file].push(chunk);
    for (const { file, chunk } of chunks) this.#chunks[file].push(chunk);
    for (const { file } of tasks) if (--this.#left[file] === 0) this.#compare(file);
  }

  /** In file order, whichever worker came first. */
  #compare(file: number): void {
    const { header } = this.#files[file];
    const chunks = this.#chunks[file].sort((a, b) => a.first - b.first);
    if (header !== null) this.accused[file] = compareChunks(header, chunks);
    this.#chunks[file] = [];
  }

  /** Whether every chunk of a file that was read to the end is right. */
  isSound(file: number): boolean {
    return this.#undecoded[file].length === 0 && this.accused[file].length === 0;
  }

  foundIn(file: number): DamagedChunk[] {
    return [...this.#undecoded[file], ...this.accused[file]];
  }
}

/** What is made of the results of one run. */
export interface ResultCollector {
  addResult(result: SpanResult): void;
}

/**
 * Runs the tasks of an assignment. What comes of them goes to `sink`, which also passes it on to `collected`; `isSound` tells
 * of a file whose tasks are all done whether all its chunks are right.
 */
export type Run<Into extends ResultCollector> = (
  assignment: Assignment,
  collected: Into,
  sink: (result: SpanResult) => void,
  isSound: (file: number) => boolean,
) => Promise<void>;

/**
 * Runs tasks so that damaged chunks have no part in what is measured: what cannot be decoded is left out at once, and where
 * a chunk turns out to be damaged beside the others of its file, all is run once more without it. What is found is noted in
 * `files`, and is the same for any number of workers and any size of spans.
 * @param begin makes what a run collects into: nothing of an earlier run may be kept
 * @returns what the last run collected
 */
export async function runWithoutDamage<Into extends ResultCollector>(
  files: readonly DeliveredFile[],
  tasks: readonly SpanTask[],
  assignment: Omit<Assignment, 'skippedChunks'>,
  begin: () => Into,
  run: Run<Into>,
): Promise<Into> {
  for (;;) {
    const without = files.map(({ damage }) => damage.map((chunk) => chunk.begin));
    const ledger = new ChunkLedger(files, tasks);
    const collected = begin();
    const sink = (result: SpanResult) => {
      ledger.addResult(result);
      collected.addResult(result);
    };
    const isSound = (file: number) => without[file].length === 0 && ledger.isSound(file);
    await run({ ...assignment, skippedChunks: without }, collected, sink, isSound);
    for (const file of files) addDamage(file, ledger.foundIn(file.index));
    if (ledger.accused.every((chunks) => chunks.length === 0)) return collected;
  }
}

function addDamage(file: DeliveredFile, found: readonly DamagedChunk[]): void {
  if (found.length === 0) return;
  file.damage = [...file.damage, ...found].sort((a, b) => a.begin - b.begin);
}

export function damagedChunks(files: readonly DeliveredFile[]): number {
  return files.reduce((sum, { damage }) => sum + damage.length, 0);
}

/** Whether damaged chunks are all that is wrong with a file: the rest of its points was read. */
export function isOnlyDamaged({ damage, faultFacts }: DeliveredFile): boolean {
  return damage.length > 0 && faultFacts?.code === DAMAGED;
}

export function damagedPoints({ damage }: DeliveredFile): number {
  return damage.reduce((sum, { points }) => sum + points, 0);
}

/** The fault of a file with damaged chunks: how many, how many points, and where the first is. */
export function faultOfDamage(file: DeliveredFile): Fault {
  const { damage, name } = file;
  const [first] = damage;
  if (damage.length === 1) {
    const { facts } = chunkFault(first, name);
    return new Fault({
      ...facts,
      what: `${facts.what}; its ${grouped(first.points)} points are left out of every figure`,
    });
  }
  return new Fault({
    code: DAMAGED,
    where: name,
    what: `${grouped(damage.length)} compressed chunks are damaged, their ${grouped(damagedPoints(file))} points are left out of every figure; the first is ${placeOfChunk(first)}: ${first.what}`,
    advice: 'Copy the file again; if that does not help, write it again',
    rule: 'laz-chunk',
    offset: first.begin,
  });
}
