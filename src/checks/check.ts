import type { DeliveryFacts } from '../delivery/delivery.js';

/** A number never goes without its unit. `null`: looked for, could not be found. */
export interface Figure {
  value: number | null;
  unit: Unit;
}
export type Unit = 'm' | 'm2' | 'points/m2' | 'count' | 'share' | 'mm/min' | 's' | 'degree';

export type State = 'pass' | 'fail' | 'undetermined' | 'not-applicable';

/** Something to look at. Reports know these kinds, never the checks. */
export type Evidence =
  | { kind: 'locations'; title: string; items: Location[] }
  | { kind: 'table'; title: string; columns: TableColumn[]; rows: (string | number | null)[][] }
  | { kind: 'histogram'; title: string; unit: Unit; edges: number[]; counts: number[] }
  | { kind: 'grid'; title: string; unit: Unit; cell: number; cells: GridCells; limit?: number; signed: boolean };

export interface TableColumn {
  key: string;
  title: string;
  unit?: Unit;
}

/** Cells of a grid: column and row are floor(world / cell); one entry a cell. */
export interface GridCells {
  column: Int32Array;
  row: Int32Array;
  value: Float64Array;
}

/** Where something is wrong. World metres in the cloud's coordinate system. */
export interface Location {
  x: number;
  y: number;
  z?: number;
  file?: string;
  pass?: string;
  value: number | null;
  unit: Unit;
  note: string;
}

/** What a check says of one requirement. Without `measured` there is no pass. */
export interface Verdict {
  state: State;
  /** One sentence: what was found against what was asked. */
  summary: string;
  measured: Record<string, Figure>;
  limits: Record<string, Figure>;
  evidence: Evidence[];
  advice: string[];
}

export interface Need {
  measurement: string;
  params: unknown;
}

/** A requirement of the acceptance spec: the common keys and the options of its check. */
export type Requirement<Options> = Options & {
  id: string;
  check: string;
  zone?: string;
  level: 'mandatory' | 'advisory';
  decision: 'simple' | 'guarded';
};

/** What a check may know besides its measurements: facts of the delivery, no clouds, no files. */
export interface JudgeContext {
  delivery: DeliveryFacts;
}

/**
 * A check: an opinion on named facts. Pure and synchronous; it sees only the measurements it asked for, in the order of
 * `needs`.
 */
export interface Check<Options> {
  /** File name, kebab case, the word used in the spec. */
  id: string;
  title: { pass: string; fail: string };
  /** One or two sentences: what goes wrong downstream if this is bad. */
  why: string;
  /** Where the rule comes from; `note` says so when it is common practice only. */
  sources: { standard: string; clause?: string; note?: string }[];
  /** JSON Schema 2020-12 of the options: { properties, required }; every property described, with its unit. */
  schema: OptionsSchema;
  /** Names of the measured figures, as scripts will find them in report.json. */
  metrics: readonly string[];
  needs(requirement: Requirement<Options>): Need[];
  /** Options in plain words, for `spec explain`: one sentence a project manager signs. */
  explain(requirement: Requirement<Options>): string;
  judge(measured: readonly unknown[], requirement: Requirement<Options>, context: JudgeContext): Verdict;
}

export interface OptionsSchema {
  properties: Record<string, Record<string, unknown>>;
  required: readonly string[];
}

// biome-ignore lint/suspicious/noExplicitAny: the list holds checks of every kind; each is checked where it is defined
export type AnyCheck = Check<any>;
