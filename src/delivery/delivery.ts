import type { DamagedChunk } from '../cloud/chunk-guard.js';
import type { CopcInfo } from '../cloud/copc.js';
import type { Crs } from '../cloud/crs.js';
import type { ExtraByte } from '../cloud/extra-bytes.js';
import type { FormatIssue, Header } from '../cloud/header.js';
import type { FaultFacts } from '../fault.js';
import type { TransferredFile } from './manifest.js';
import type { SurveyPoint } from './survey-points.js';
import type { IndexTile } from './tile-index.js';
import type { Zone } from './zones.js';

/** How points belong to passes. */
export type PassRule =
  | { by: 'point-source-id' }
  | { by: 'file' }
  | { by: 'scanner-channel' }
  | { by: 'gps-time-gap'; gap: number };

/** One file of the delivery, as its header tells, and whether it could be read. */
export interface DeliveredFile {
  /** Ordinal: files are sorted by name, so that the order on the command line never matters. */
  index: number;
  /** Name as shown in the report: path relative to the common folder, or the URL. */
  name: string;
  address: string;
  bytes: number;
  packing: 'LAS' | 'LAZ' | 'COPC' | null;
  /** null when the header could not be read. */
  header: Header | null;
  crs: Crs | null;
  /** Metres in one unit of plan coordinates, and of heights. */
  planUnit: number;
  heightUnit: number;
  /** Why the file could not be fully read; null when it was. */
  fault: string | null;
  /** The same in parts. */
  faultFacts: FaultFacts | null;
  /** Compressed chunks that are damaged, in file order: their points, and no others, are kept out of every figure. */
  damage: readonly DamagedChunk[];
  /** What is odd about header, records and packing; empty when the header could not be read. */
  formatIssues: readonly FormatIssue[];
  extraBytes: readonly ExtraByte[];
  /** The COPC info record; null for other packings. */
  copc: CopcInfo | null;
}

export interface Pass {
  key: number;
  /** As shown to the reader: "source 12", a file name, "channel 1", "10:02:11 to 10:07:40". */
  label: string;
  points: number;
}

/** What the spec says of the coordinate system; null where it says nothing. */
export interface DeclaredCrs {
  horizontal: string | null;
  vertical: string | null;
  unit: string | null;
}

/** Everything known of the delivery besides its points: what checks may consult. */
export interface DeliveryFacts {
  files: readonly DeliveredFile[];
  passes: readonly Pass[];
  passRule: PassRule;
  surveyPoints: readonly SurveyPoint[] | null;
  zones: readonly Zone[];
  /** The tiles that were agreed, as the index lists them; null when none was handed in. */
  tileIndex: readonly IndexTile[] | null;
  declaredCrs: DeclaredCrs;
  /** Share of the points that was read for a quick look; null when all were. */
  sample: number | null;
  /** The files held against a checksum manifest; null when none was handed in. */
  transfer: readonly TransferredFile[] | null;
}

export function passLabel(facts: DeliveryFacts, key: number): string {
  return facts.passes.find((pass) => pass.key === key)?.label ?? `pass ${key}`;
}

/** The first readable file whose header box holds the place (world metres); null when none does. */
export function fileAt(facts: DeliveryFacts, x: number, y: number): string | null {
  for (const { header, planUnit, name } of facts.files) {
    if (!header) continue;
    const [minX, minY] = header.min;
    const [maxX, maxY] = header.max;
    if (x >= minX * planUnit && x <= maxX * planUnit && y >= minY * planUnit && y <= maxY * planUnit) return name;
  }
  return null;
}

/** Middle of a file's header box, world metres: where to look when the file as a whole is meant. Null without a header. */
export function middleOf({ header, planUnit }: DeliveredFile): { x: number; y: number } | null {
  if (!header) return null;
  const [minX, minY] = header.min;
  const [maxX, maxY] = header.max;
  return { x: ((minX + maxX) / 2) * planUnit, y: ((minY + maxY) / 2) * planUnit };
}
