import type { ChunkFacts, DamagedChunk } from '../cloud/chunk-guard.js';
import type { Span } from '../cloud/cloud.js';
import type { Column } from '../cloud/columns.js';
import type { FaultFacts } from '../fault.js';
import type { BlockPiece, FactRequest } from '../measure/contract/measurement.js';
import type { Extent } from './spatial-coherence.js';

/** What every worker knows before its first span. Plain data: it travels to threads. */
export interface Assignment {
  measurements: AssignedMeasurement[];
  /** States that are cut into areas come back in pieces, not whole. */
  cutBlocks?: boolean;
  /** Columns to decode: the union of what the measurements and the pass rule request for. */
  columns: Column[];
  files: JobFile[];
  passes: PassAssignment;
  /** By file: first bytes of the chunks that are known to be damaged, and passed over. */
  skippedChunks: readonly (readonly number[])[];
}

export interface AssignedMeasurement {
  id: string;
  params: unknown;
  /** What is kept of each area of its state, where that is cut into areas. */
  collects?: FactRequest[];
}

export interface JobFile {
  address: string;
  /** Metres in one unit of the file's plan coordinates and heights. */
  planUnit: number;
  heightUnit: number;
  /** The points may lie anywhere: nothing is measured in space, only what they are is looked at. */
  coordinatesUnusable?: boolean;
  /** Where the points may follow one another from anywhere to anywhere. */
  extentLimit?: Extent | null;
}

/** How a point's pass key is told. `starts`: GPS times at which passes begin, ascending. */
export type PassAssignment =
  | { by: 'point-source-id' }
  | { by: 'file' }
  | { by: 'scanner-channel' }
  | { by: 'gps-time-gap'; starts: Float64Array };

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
  /** Pieces of the states that are cut into areas, with the place of their measurement; those states are then empty. */
  blocks?: { measurement: number; piece: BlockPiece }[];
  /** Where the points of each task lie, six numbers a task: min east, north, up, max east, north, up in quanta. */
  boxes: Float64Array;
  faults: { task: SpanTask; fault: FaultFacts }[];
  /** Measurements that failed in these spans; their states are empty. */
  failures: MeasurementFailure[];
  /** Chunks that could not be decoded: nothing of them is in the states. */
  damaged: { file: number; chunk: DamagedChunk }[];
  /** What is known of the others, to be compared with all chunks of their file. */
  chunks: { file: number; chunk: ChunkFacts }[];
}

/** What became of tasks that were not measured at all. */
export function unmeasuredResult(tasks: SpanTask[], faults: SpanResult['faults']): SpanResult {
  return { tasks, states: [], boxes: emptyBoxes(tasks.length), faults, failures: [], damaged: [], chunks: [] };
}

/** Boxes that hold nothing yet, six numbers each. */
export function emptyBoxes(count: number): Float64Array {
  return Float64Array.from({ length: count * 6 }, (_, k) =>
    k % 6 < 3 ? Number.POSITIVE_INFINITY : Number.NEGATIVE_INFINITY,
  );
}

/** One area whose points are all in, to be boiled down; or, `merge`, whose pieces have become many. */
export interface BlockTask {
  /** Place of the measurement in the assignment. */
  measurement: number;
  column: number;
  row: number;
  pieces: ArrayBuffer[];
  merge: boolean;
}

/** What is kept of an area, in the order of `collects`; or its pieces as one. */
export interface BlockResult {
  measurement: number;
  column: number;
  row: number;
  parts: unknown[];
  merged: ArrayBuffer | null;
  /** Why the block could not be finalised, or null. */
  fault: FaultFacts | null;
}

/** Columns a pass rule needs. */
export function passColumns(rule: { by: PassAssignment['by'] }): Column[] {
  switch (rule.by) {
    case 'point-source-id':
      return ['pointSourceId'];
    case 'scanner-channel':
      return ['scannerChannel'];
    case 'gps-time-gap':
      return ['gpsTime'];
    case 'file':
      return [];
  }
}
