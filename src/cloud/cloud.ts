import type { ChunkFacts, DamagedChunk } from './chunk-guard.js';
import type { Column, PointBatch } from './columns.js';
import type { CopcInfo } from './copc.js';
import type { Crs } from './crs.js';
import type { ExtraByte } from './extra-bytes.js';
import type { FormatIssue, Header } from './header.js';
import type { Piece } from './piece.js';
import type { Source } from './source.js';
import type { Vlr } from './vlr.js';

export type { Piece };

/**
 * A run of consecutive points of one file that can be decoded without the rest of it: byte ranges of a LAS file, chunks
 * of a LAZ file, nodes of a COPC file. Plain data, so that it can be sent to a worker thread or another computer.
 */
export interface Span {
  /** Ordinal in reading order of the first point. */
  first: number;
  /** Points in all pieces together. */
  points: number;
  pieces: Piece[];
}

/** Damaged chunks that a caller knows, and callbacks for new ones, so that exactly their points can be left out. */
export interface ChunkLog {
  /** First bytes of chunks that are known to be damaged: they are skipped. */
  without: ReadonlySet<number>;
  /** Called for a chunk that cannot be decoded; the sink may have received some of its points. Decoding continues after it. */
  damaged(chunk: DamagedChunk): void;
  /** Called for a decoded chunk, to be compared with all others of its file. */
  decoded(chunk: ChunkFacts): void;
}

/** File format of a cloud. */
export type CloudFormat = 'LAS' | 'LAZ' | 'COPC';

/** An opened cloud: everything that is known before a point is read. */
export interface Cloud {
  readonly source: Source;
  /** Detected from the content, never from the file's name. */
  readonly format: CloudFormat;
  readonly header: Header;
  /** VLRs, then EVLRs, in file order. */
  readonly vlrs: readonly Vlr[];
  readonly crs: Crs;
  readonly extraBytes: readonly ExtraByte[];
  /** The COPC info record; null for other formats. */
  readonly copc: CopcInfo | null;
  /** Violations of the format rules in header and records; the checks judge them. */
  readonly formatIssues: readonly FormatIssue[];
  /** Cuts the points into spans of about `target` points. Reads the chunk table or the hierarchy pages. */
  spans(target: number): Promise<Span[]>;
  /**
   * Decodes a span batch by batch. `sink` receives the same batch object every time and must not keep it. Damaged chunks
   * are passed to the log; without a log they are a fault, also when only the comparison with other chunks finds them.
   * @throws Fault when bytes are missing or damaged; points passed to the sink before that must be discarded
   */
  decode(span: Span, columns: ReadonlySet<Column>, sink: (batch: PointBatch) => void, log?: ChunkLog): Promise<void>;
  close(): Promise<void>;
}
