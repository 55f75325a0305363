import type { ChunkFacts, DamagedChunk } from './chunk-guard.js';
import type { Column, PointBatch } from './columns.js';
import type { CopcInfo } from './copc.js';
import type { Crs } from './crs.js';
import type { ExtraByte } from './extra-bytes.js';
import type { FormatIssue, Header } from './header.js';
import type { Source } from './source.js';
import type { Vlr } from './vlr.js';

/**
 * A run of consecutive points of one file that can be decoded without the rest of it: byte ranges of a LAS file, chunks
 * of a LAZ file, nodes of a COPC file. Plain data, so that it travels to a worker thread or another machine.
 */
export interface Span {
  /** Ordinal in reading order of the first point. */
  first: number;
  /** Points in all pieces together. */
  points: number;
  pieces: Piece[];
}

export interface Piece {
  /** Absolute byte position in the file. */
  begin: number;
  end: number;
  points: number;
  /** Ordinal in the file of a compressed chunk, from 0. */
  index?: number;
  /** Level of the octree, 0 coarsest; COPC only. */
  level?: number;
  /** Place of the node in its level; COPC only. */
  place?: readonly [x: number, y: number, z: number];
}

/** What a caller knows of damaged chunks, and wants to be told, so that it can do without their points and no others. */
export interface ChunkLog {
  /** First bytes of chunks that are known to be damaged: they are passed over. */
  without: ReadonlySet<number>;
  /** A chunk that cannot be decoded, of which the sink may have got some points. Decoding goes on behind it. */
  damaged(chunk: DamagedChunk): void;
  /** A chunk that was decoded, to be compared with all others of its file. */
  decoded(chunk: ChunkFacts): void;
}

export type Packing = 'LAS' | 'LAZ' | 'COPC';

/** An opened cloud: everything that is known before a point is read. */
export interface Cloud {
  readonly source: Source;
  /** Told from the content, never from the file's name. */
  readonly packing: Packing;
  readonly header: Header;
  /** VLRs, then EVLRs, in file order. */
  readonly vlrs: readonly Vlr[];
  readonly crs: Crs;
  readonly extraBytes: readonly ExtraByte[];
  /** The COPC info record; null for other packings. */
  readonly copc: CopcInfo | null;
  /** What is odd about header and records; kept as data, judged elsewhere. */
  readonly formatIssues: readonly FormatIssue[];
  /** Cuts the points into spans of about `target` points. Reads the chunk table or the hierarchy pages. */
  spans(target: number): Promise<Span[]>;
  /**
   * Decodes a span block by block. `sink` gets the same batch object again and again; it must not keep it. Damaged chunks
   * are told to the log; without one they are a fault, as is a chunk that cannot be right beside the others of the span.
   * @throws Fault when bytes are missing or damaged; points handed to the sink before that must be thrown away.
   */
  decode(span: Span, columns: ReadonlySet<Column>, sink: (batch: PointBatch) => void, log?: ChunkLog): Promise<void>;
  close(): Promise<void>;
}
