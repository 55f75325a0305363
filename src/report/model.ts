/**
 * report.json: the product. Every other output is a view of it. Lengths in metres, shares 0 to 1; names are fixed so that
 * scripts can rely on them. Its JSON Schema is specs/report.schema.json.
 */
export interface Report {
  report: '1';
  verdict: 'accepted' | 'rejected' | 'undetermined';
  /** `command` repeats the check: names without their folders, so that two machines write the same report. */
  tool: { name: 'cloudassay'; version: string; command: string };
  spec: { title: string; sha256: string; file: string };
  /** Files beside the spec that the verdict rests on. */
  inputs: { role: 'survey points' | 'zones' | 'tile index' | 'manifest'; file: string; sha256: string }[];
  delivery: {
    files: number;
    points: number;
    bytes: number;
    /** World metres: [minX, minY, minZ, maxX, maxY, maxZ] from the points; null when no point was read. */
    extent: number[] | null;
    /** Plan area of the cells that hold a point, square metres; the size of a cell is that of the overview. */
    area: number | null;
    /** First and last GPS time, as a date and time of day; null when no time was read or it counts from an unknown day. */
    captured: { from: string; to: string } | null;
    /** First and last day on which the files say they were written. */
    written: { from: string; to: string } | null;
    crs: {
      horizontal: string | null;
      vertical: string | null;
      unit: string | null;
      /** Metres in the unit of plan coordinates; coordinates in this report are in metres. */
      metresPerUnit: number | null;
      /** The horizontal system alone, as the files state it. */
      wkt: string | null;
    };
    passesBy: string;
    unreadable: number;
    classes: { class: number; points: number }[];
    /** Points by return number, and by the number of returns of their pulse. */
    returns: { number: number; points: number }[];
    pulses: { returns: number; points: number }[];
  };
  requirements: RequirementResult[];
  files: FileResult[];
  passes: { pass: string; points: number }[];
  passPairs: PassPairResult[];
  surveyPoints: SurveyPointResult[];
  overview: Overview;
  zones: ZoneResult[];
  findings: Finding[];
}

/** The whole delivery in cells of one size, whatever the spec asks. */
export interface Overview {
  density: GridResult | null;
  /** Values are places in `passSets`. */
  passes: GridResult | null;
  /** Sets of passes that met in a cell: places in the report's list of passes. */
  passSets: number[][];
}

/** World metres: closed rings as flat x, y, x, y ... */
export interface ZoneResult {
  name: string;
  polygons: { outer: number[]; holes: number[][] }[];
}

export interface RequirementResult {
  id: string;
  check: string;
  title: string;
  why: string;
  level: 'mandatory' | 'advisory';
  decision: 'simple' | 'guarded';
  zone: string | null;
  verdict: 'pass' | 'fail' | 'undetermined' | 'not-applicable';
  summary: string;
  measured: Record<string, number | null>;
  limits: Record<string, number | null>;
  /** On which side of each limit the good values lie. */
  senses: Record<string, 'at-most' | 'at-least'>;
  /** Unit of each name in measured and limits. */
  units: Record<string, string>;
  /** Class of data quality element of ISO 19157 that the figures describe. */
  quality: string | null;
  /** What to do so that the requirement can be met or shown. */
  advice: string[];
  /** Likely causes by the rules of experience, the more telling one first; never a verdict. */
  causes: CauseResult[];
  /** The accuracy as the standard named in the requirement has it stated; absent where none is named. */
  statement?: StatementResult;
  locations: {
    x: number;
    y: number;
    z?: number;
    file?: string;
    pass?: string;
    value: number | null;
    unit?: string;
    note: string;
  }[];
  tables: {
    title: string;
    columns: { key: string; title: string; unit?: string }[];
    rows: (string | number | null)[][];
  }[];
  histograms: HistogramResult[];
  residuals: ResidualResult[];
  series: SeriesResult[];
  grids: GridResult[];
  sections: SectionResult[];
}

/** A likely cause and what to look at, with the figures that led to it. */
export interface CauseResult {
  rule: string;
  title: string;
  text: string;
  figures: { name: string; value: number | null; unit: string }[];
}

export interface StatementResult {
  /** Name in the spec, and the title of the standard. */
  standard: string;
  title: string;
  /** The sentences to quote. */
  sentence: string;
  /** Whether they claim the standard to be met. */
  claimed: boolean;
  /** Smallest class, level or category met; null where there is none. */
  class: string | null;
  count: { found: number; asked: number; met: boolean };
  /** Lengths in metres; `met` is null when the extent of the area is not known. */
  spread: {
    leastShare: number | null;
    askedShare: number;
    spacing: number | null;
    askedSpacing: number | null;
    met: boolean | null;
  };
  /** What is not as the standard asks, and what a reader should know besides. */
  departures: string[];
  remarks: string[];
  /** Where figures and wording come from, and how far they can be trusted. */
  sources: { what: string; source: string; mark: 'read' | 'read-T' | 'read-S' | 'computed' | 'memory' }[];
}

export interface HistogramResult {
  title: string;
  unit: string;
  edges: number[];
  counts: number[];
  /** Normal curve to draw over the counts. */
  normal: { mean: number; std: number; nmad: number } | null;
  /** Value to mark, and the side on which values are good. */
  limit: number | null;
  sense: 'at-most' | 'at-least' | null;
}

/** Single differences by name, with the figures that judge them, all in one unit. */
export interface ResidualResult {
  title: string;
  unit: string;
  items: { label: string; value: number; group: 'used' | 'control' | 'blunder' }[];
  mean: number | null;
  /** Root mean square of the used ones, the interval of confidence of it, and its limit. */
  rms: number | null;
  interval: number[] | null;
  limit: number | null;
}

/** Values along time or distance. */
export interface SeriesResult {
  title: string;
  unit: string;
  along: { title: string; unit: string };
  lines: { name: string; x: number[]; y: (number | null)[] }[];
  /** Holds on either side of zero. */
  limit: number | null;
}

/** Values of square cells. How `data` is written: grid-code.ts, and specs/report.schema.json. */
export interface GridResult {
  title: string;
  unit: string;
  /** Edge of a cell, metres; column and row are floor(world / cell). */
  cell: number;
  /** Edge of the cells as measured, when they were merged because there were too many; else null. */
  mergedFrom: number | null;
  /** Differences about zero: the limit holds on either side. */
  signed: boolean;
  limit: number | null;
  sense: 'at-most' | 'at-least' | null;
  cells: number;
  runs: number;
  /** A value is this times its whole number in `data`. */
  step: number;
  /** Bytes a value in `data`. */
  bytes: number;
  data: string;
}

/** The cloud close up around one place: a sample of its points. How `data` is written: section-code.ts. */
export interface SectionResult {
  title: string;
  /** Id of the survey point in the middle; null where there is none. */
  surveyPoint: string | null;
  x: number;
  y: number;
  z: number;
  /** Points within this distance in plan, metres. */
  reach: number;
  /** The cloud over the middle: height above z, rise a metre of x and of y; null where no plane was fitted. */
  plane: { height: number; slopeX: number; slopeY: number } | null;
  passes: string[];
  /** Points there were, and those in `data`. */
  found: number;
  points: number;
  data: string;
}

export interface FileResult {
  file: string;
  bytes: number;
  packing: string | null;
  version: string | null;
  pointFormat: number | null;
  points: number;
  /** World metres: [minX, minY, minZ, maxX, maxY, maxZ] as the header says; null or absent when it could not be read. */
  extent?: number[] | null;
  /** null when the file was read to the end. */
  fault: string | null;
  /** Points of damaged chunks, which are left out of every figure; absent when there are none. */
  leftOut?: number;
}

export interface PassPairResult {
  a: string;
  b: string;
  cells: number;
  meanDz: number | null;
  rmsDz: number | null;
  maxDz: number | null;
  /** b minus a, metres; null on an axis that the surfaces do not reveal. */
  shift: (number | null)[];
  shiftStd: (number | null)[];
  observable: boolean[];
}

export interface SurveyPointResult {
  id: string;
  role: 'control' | 'check';
  x: number;
  y: number;
  z: number;
  /** Cloud minus survey, metres. */
  dz: number | null;
  dx?: number | null;
  dy?: number | null;
  n: number;
  method: string;
  perPass: { pass: string; dz: number | null; n: number }[];
  status: 'used' | 'blunder' | 'no-data' | 'no-target' | 'outside';
}

/** Anything a reader of the report must know that belongs to no requirement: unreadable files, skipped input. */
export interface Finding {
  severity: 'error' | 'warning' | 'note';
  code: string;
  file?: string;
  text: string;
  /** The damaged chunk that it is about: numbers of chunks and points from 1, bytes from 0, and which guard it trips. */
  chunk?: {
    number: number;
    firstPoint: number;
    points: number;
    firstByte: number;
    bytes: number;
    guard: 'coding' | 'place' | 'times' | 'order' | 'returns';
  };
}
