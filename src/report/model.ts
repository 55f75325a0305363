/**
 * report.json: the product. Every other output is a view of it. Lengths in metres, shares 0 to 1; names are fixed so that
 * scripts can rely on them. Its JSON Schema is specs/report.schema.json.
 */
export interface Report {
  report: '1';
  verdict: 'accepted' | 'rejected' | 'undetermined';
  tool: { name: 'cloudassay'; version: string };
  spec: { title: string; sha256: string; file: string };
  delivery: {
    files: number;
    points: number;
    bytes: number;
    /** World metres: [minX, minY, minZ, maxX, maxY, maxZ] from the points; null when no point was read. */
    extent: number[] | null;
    crs: { horizontal: string | null; vertical: string | null; unit: string | null };
    passesBy: string;
    unreadable: number;
  };
  requirements: RequirementResult[];
  files: FileResult[];
  passes: { pass: string; points: number }[];
  passPairs: PassPairResult[];
  surveyPoints: SurveyPointResult[];
  findings: Finding[];
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
  /** Unit of each name in measured and limits. */
  units: Record<string, string>;
  advice: string[];
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
  histograms: { title: string; unit: string; edges: number[]; counts: number[] }[];
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
  status: 'used' | 'blunder' | 'no-data' | 'outside';
}

/** Anything a reader of the report must know that belongs to no requirement: unreadable files, skipped input. */
export interface Finding {
  severity: 'error' | 'warning' | 'note';
  code: string;
  file?: string;
  text: string;
}
