import type { DamagedChunk } from '../cloud/chunk-guard.js';
import type { CopcInfo } from '../cloud/copc.js';
import type { Crs } from '../cloud/crs.js';
import type { ExtraByte } from '../cloud/extra-bytes.js';
import type { FormatIssue, Header } from '../cloud/header.js';
import type { FaultFacts } from '../fault.js';
import { BoxIndex } from '../geometry/box-index.js';
import type { SpecPasses } from '../spec/acceptance-spec.js';
import type { DriveSections } from './drive-sections.js';
import type { TransferredFile } from './manifest.js';
import type { Route } from './route.js';
import type { SurveyPoint } from './survey-points.js';
import type { IndexTile } from './tile-index.js';
import type { Trajectory } from './trajectory.js';
import type { Zone } from './zones.js';

/** How points are assigned to passes, as the acceptance spec states it; with the sections of the drives where passes are by trajectory. */
export interface PassRule extends SpecPasses {
  sections?: DriveSections;
}

/** What a quick look (--sample) reads of one file. */
export interface FileSample {
  /** Points that are read. */
  points: number;
  /** Runs of records, chunks or nodes that are read. */
  pieces: number;
  /**
   * COPC: the nodes that are not read, four numbers each: low corner x and y and side of its square on the ground, metres, and
   * its points. Null for other formats.
   */
  unread: Float64Array | null;
}

/** One file of the delivery: its header, and whether it could be read. */
export interface DeliveredFile {
  /** Ordinal: files are sorted by name, so that the order on the command line never matters. */
  index: number;
  /** Name as shown in the report: path relative to the common folder, or the URL. */
  name: string;
  address: string;
  bytes: number;
  format: 'LAS' | 'LAZ' | 'COPC' | null;
  /** null when the header could not be read. */
  header: Header | null;
  crs: Crs | null;
  /** Metres per unit of the horizontal coordinates, and of the heights. */
  horizontalUnit: number;
  heightUnit: number;
  /** Why the file could not be fully read; null when it was. */
  fault: string | null;
  /** The same fault in parts. */
  faultFacts: FaultFacts | null;
  /** Damaged compressed chunks, in file order; exactly their points are left out of every figure. */
  damage: readonly DamagedChunk[];
  /** Violations of the format rules in header, records and compression; empty when the header could not be read. */
  formatIssues: readonly FormatIssue[];
  extraBytes: readonly ExtraByte[];
  /** The COPC info record; null for other formats. */
  copc: CopcInfo | null;
  /** What is read of the file, where only a share of the points is read. */
  sampled?: FileSample;
}

/** A pass: its key, as points are assigned to it, and its label. */
export interface Pass {
  key: number;
  /** Label in the report: "source 12", a file name, "channel 1", "drive 3", or several of them: "source 12, channel 1". */
  label: string;
  points: number;
}

/** Coordinate system declared in the spec; null where it declares none. */
export interface DeclaredCrs {
  horizontal: string | null;
  vertical: string | null;
  unit: string | null;
}

/** What checks may read of the delivery besides measurements of its points. */
export interface DeliveryFacts {
  files: readonly DeliveredFile[];
  passes: readonly Pass[];
  passRule: PassRule;
  surveyPoints: readonly SurveyPoint[] | null;
  zones: readonly Zone[];
  /** The agreed tiles, in the order of the tile index; null without a tile index. */
  tileIndex: readonly IndexTile[] | null;
  declaredCrs: DeclaredCrs;
  /** Share of the points that was read (--sample), 0 to 1; null when all were. */
  sample: number | null;
  /** The files compared with a checksum manifest; null without a manifest. */
  transfer: readonly TransferredFile[] | null;
  /** The trajectory of the vehicle; null where none was given. */
  trajectory: Trajectory | null;
  /** The planned route; null where none was given. */
  route: Route | null;
}

/** Label of the pass with this key. */
export function passLabel(facts: DeliveryFacts, key: number): string {
  return facts.passes.find((pass) => pass.key === key)?.label ?? `pass ${key}`;
}

/** Name of the first readable file whose header extent contains a location (metres); null when none does. */
export function fileAt(facts: DeliveryFacts, x: number, y: number): string | null {
  const at = fileIndexOf(facts).firstAt(x, y);
  return at < 0 ? null : facts.files[at].name;
}

const fileIndexes = new WeakMap<readonly DeliveredFile[], BoxIndex>();

/** The header extents of the files of a delivery, metres, by the place of the file in the list; made once for each list. */
export function fileIndexOf({ files }: Pick<DeliveryFacts, 'files'>): BoxIndex {
  const known = fileIndexes.get(files);
  if (known) return known;
  const nowhere = { minX: Number.NaN, minY: Number.NaN, maxX: Number.NaN, maxY: Number.NaN };
  const index = new BoxIndex(
    files.map(({ header, horizontalUnit }) => {
      if (!header) return nowhere;
      const [minX, minY] = header.min.map((v) => v * horizontalUnit);
      const [maxX, maxY] = header.max.map((v) => v * horizontalUnit);
      return { minX, minY, maxX, maxY };
    }),
  );
  fileIndexes.set(files, index);
  return index;
}

/** Centre of a file's header extent, metres: the location of findings about the whole file. Null without a header. */
export function middleOf({ header, horizontalUnit }: DeliveredFile): { x: number; y: number } | null {
  if (!header) return null;
  const [minX, minY] = header.min;
  const [maxX, maxY] = header.max;
  return { x: ((minX + maxX) / 2) * horizontalUnit, y: ((minY + maxY) / 2) * horizontalUnit };
}
