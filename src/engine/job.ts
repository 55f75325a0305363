import type { ChunkFacts, DamagedChunk } from '../cloud/chunk-guard.js';
import type { Span } from '../cloud/cloud.js';
import type { Column } from '../cloud/columns.js';
import type { PassRule } from '../delivery/delivery.js';
import type { FaultFacts } from '../fault.js';
import type { BlockPiece, FactRequest } from '../measure/contract/measurement.js';
import type { Extent } from './spatial-coherence.js';

/** What every worker must know before its first span. Plain data: it is sent to threads. */
export interface Assignment {
  measurements: AssignedMeasurement[];
  /** States that have blocks are returned in pieces, not whole. */
  cutBlocks?: boolean;
  /** Columns to decode: all that the measurements and the pass rule need. */
  columns: Column[];
  files: JobFile[];
  passes: PassAssignment;
  /** By file: first bytes of the chunks that are known to be damaged; they are not read. */
  skippedChunks: readonly (readonly number[])[];
}

/** A measurement, and what is computed from its blocks. */
export interface AssignedMeasurement {
  id: string;
  params: unknown;
  /** What is computed from each block, where the measurement has blocks. */
  collects?: FactRequest[];
}

/** What a worker must know of a file. */
export interface JobFile {
  address: string;
  /** Identity of the source when its header was read; absent where it could not be opened. */
  identity?: string;
  /** Time without a byte after which a server is given up, milliseconds. */
  timeoutMs?: number;
  /** Metres in one unit of the file's horizontal coordinates, and of its heights. */
  horizontalUnit: number;
  heightUnit: number;
  /** Coordinates are not checked: nothing is measured that depends on them. */
  coordinatesUnusable?: boolean;
  /** Extent within which consecutive points may be far apart; null where they may not be. */
  extentLimit?: Extent | null;
}

/**
 * How points are assigned to passes: the criteria of the pass rule, in its order. `starts`: GPS times at which drives begin,
 * seconds, ascending; with gps-time-gap only. `sections`: the sections of the drives; with trajectory only.
 */
export interface PassAssignment {
  by: PassRule['by'];
  starts?: Float64Array;
  sections?: PassRule['sections'];
}

/** A span to measure, and the index of its file. */
export interface SpanTask {
  file: number;
  span: Span;
}

/** The name of a span among all spans of a plan. */
export function spanKey({ file, span }: SpanTask): string {
  return `${file} ${span.first}`;
}

/** A measurement that could not be completed. What it measured elsewhere must not be used either. */
export interface MeasurementFailure {
  /** Index of the measurement in the assignment. */
  measurement: number;
  /** Where it failed: file and first point of the span, for a choice of one failure that does not depend on the order. */
  file: number;
  first: number;
  fault: FaultFacts;
}

/** The packed state of every measurement after some spans, and the spans that could not be measured. */
export interface SpanResult {
  tasks: SpanTask[];
  states: ArrayBuffer[];
  /** Pieces of the states that are cut into blocks, with the index of their measurement; those states are empty. */
  blocks?: { measurement: number; piece: BlockPiece }[];
  /** Extent of the points of each task, six numbers a task, quanta: min east, north, up, max east, north, up. */
  boxes: Float64Array;
  faults: { task: SpanTask; fault: FaultFacts }[];
  /** Measurements that failed in these spans; their states are empty. */
  failures: MeasurementFailure[];
  /** Chunks that could not be decoded: their points are not in the states. */
  damaged: { file: number; chunk: DamagedChunk }[];
  /** Facts of the other chunks, to be compared with all chunks of their file. */
  chunks: { file: number; chunk: ChunkFacts }[];
}

/** The result for tasks that were not measured. */
export function unmeasuredResult(tasks: SpanTask[], faults: SpanResult['faults']): SpanResult {
  return { tasks, states: [], boxes: emptyBoxes(tasks.length), faults, failures: [], damaged: [], chunks: [] };
}

/** Empty boxes, six numbers each: minima +Infinity, maxima -Infinity. */
export function emptyBoxes(count: number): Float64Array {
  return Float64Array.from({ length: count * 6 }, (_, k) =>
    k % 6 < 3 ? Number.POSITIVE_INFINITY : Number.NEGATIVE_INFINITY,
  );
}

/** A block to finalise, all of whose points are read; with `merge`, a block whose pieces are to be merged into one. */
export interface BlockTask {
  /** Index of the measurement in the assignment. */
  measurement: number;
  column: number;
  row: number;
  pieces: ArrayBuffer[];
  merge: boolean;
}

/** What is kept of a block for one request, or why it could not be computed. */
export type BlockPart = { part: unknown; fault: null } | { part: null; fault: FaultFacts };

/** The parts that are kept of a block, in the order of `collects`; or its pieces merged into one. */
export interface BlockResult {
  measurement: number;
  column: number;
  row: number;
  parts: BlockPart[];
  merged: ArrayBuffer | null;
  /** Why nothing of the block could be computed, or null. */
  fault: FaultFacts | null;
}

/** The columns that a pass rule needs. */
export function passColumns({ by }: PassAssignment): Column[] {
  return by.flatMap((criterion) => COLUMN[criterion] ?? []);
}

const COLUMN: Record<PassRule['by'][number], Column | null> = {
  file: null,
  'point-source-id': 'pointSourceId',
  'gps-time-gap': 'gpsTime',
  trajectory: 'gpsTime',
  'scanner-channel': 'scannerChannel',
};
