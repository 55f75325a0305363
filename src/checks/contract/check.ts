import type { DeliveryFacts } from '../../delivery/delivery.js';
import type { FaultFacts } from '../../fault.js';
import type { AccuracyStatement } from '../standards/standard.js';

/** A number never goes without its unit. `null`: looked for, could not be found. */
export interface Figure {
  value: number | null;
  unit: Unit;
}
export type Unit = 'm' | 'm2' | 'points/m2' | 'count' | 'share' | 'mm/min' | 's' | 'degree';

export type State = 'pass' | 'fail' | 'undetermined' | 'not-applicable';

/** On which side of a limit the good values lie. */
export type LimitSense = 'at-most' | 'at-least';

/** Something to look at. Reports know these kinds, never the checks. */
export type Evidence =
  | { kind: 'locations'; title: string; items: Location[] }
  | { kind: 'table'; title: string; columns: TableColumn[]; rows: (string | number | null)[][] }
  | HistogramEvidence
  | GridEvidence
  | ResidualEvidence
  | SeriesEvidence
  | CrossSectionEvidence;

/** Counts in classes. `normal`: a normal curve to draw over them; `limit`: a value to mark, in the unit of the edges. */
export interface HistogramEvidence {
  kind: 'histogram';
  title: string;
  unit: Unit;
  edges: number[];
  counts: number[];
  normal?: { mean: number; std: number; nmad: number };
  limit?: number;
  sense?: LimitSense;
}

/** Values of square cells, for maps. A `signed` grid is about zero, and its limit holds on either side. */
export interface GridEvidence {
  kind: 'grid';
  title: string;
  unit: Unit;
  /** Edge of a cell, metres. */
  cell: number;
  cells: GridCells;
  limit?: number;
  /** Side of the limit on which a cell is good; a signed grid is good within the limit. */
  sense?: LimitSense;
  signed: boolean;
}

/** Single differences, each by name, with the figures that judge them, all in one unit. */
export interface ResidualEvidence {
  kind: 'residuals';
  title: string;
  unit: Unit;
  items: { label: string; value: number; group: 'used' | 'control' | 'blunder' }[];
  mean: number | null;
  /** Root mean square of the used ones, its interval of confidence, and its limit. */
  rms: number | null;
  interval: [number, number] | null;
  limit: number | null;
}

/** Values along time or distance, one line a pass; `null` interrupts a line. */
export interface SeriesEvidence {
  kind: 'series';
  title: string;
  unit: Unit;
  along: { title: string; unit: Unit };
  lines: { name: string; x: number[]; y: (number | null)[] }[];
  /** Holds on either side of zero. */
  limit?: number;
}

/** The cloud close up: a bounded sample of points around one place, seen from above and cut open. */
export interface CrossSectionEvidence {
  kind: 'section';
  title: string;
  /** Id of the survey point in the middle, where there is one. */
  surveyPoint?: string;
  /** World metres of the middle. */
  x: number;
  y: number;
  z: number;
  /** Points within this distance in plan, metres. */
  radius: number;
  /** The cloud over the middle: height above z, rise a metre of x and of y. */
  plane: { height: number; slopeX: number; slopeY: number } | null;
  passes: string[];
  /** Points there were; the arrays hold a fair sample of them. */
  found: number;
  /** Metres from the middle, and the place in `passes`. The first k points are themselves a fair sample. */
  dx: Float64Array;
  dy: Float64Array;
  dz: Float64Array;
  pass: Uint8Array;
}

/** Classes of data quality elements of ISO 19157:2013 (names as in its schema, namespace mdq). */
export type QualityElement =
  | 'DQ_CompletenessCommission'
  | 'DQ_CompletenessOmission'
  | 'DQ_ConceptualConsistency'
  | 'DQ_DomainConsistency'
  | 'DQ_FormatConsistency'
  | 'DQ_TopologicalConsistency'
  | 'DQ_AbsoluteExternalPositionalAccuracy'
  | 'DQ_RelativeInternalPositionalAccuracy'
  | 'DQ_GriddedDataPositionalAccuracy'
  | 'DQ_ThematicClassificationCorrectness'
  | 'DQ_NonQuantitativeAttributeCorrectness'
  | 'DQ_QuantitativeAttributeAccuracy'
  | 'DQ_AccuracyOfATimeMeasurement'
  | 'DQ_TemporalConsistency'
  | 'DQ_TemporalValidity'
  | 'DQ_UsabilityElement';

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
  /** Metres around the place that show what is wrong; given where a look at the points themselves helps. */
  crossSectionRadius?: number;
}

/** What a check says of one requirement. Without `measured` there is no pass. */
export interface Verdict {
  state: State;
  /** One sentence: what was found against what was asked. */
  summary: string;
  measured: Record<string, Figure>;
  limits: Record<string, Figure>;
  evidence: Evidence[];
  /** Set where cloudassay itself failed: the requirement is undetermined, and no file is to blame. */
  internalError?: FaultFacts;
  /** What to do so that the requirement can be met or shown. */
  advice: string[];
  /** What the rules of src/checks/advice make of the figures. */
  causes?: LikelyCause[];
  /** Lines for the report's own tables of pass pairs and survey points, from the checks that compare them. */
  passPairs?: PassPairLine[];
  surveyPoints?: SurveyPointLine[];
  /** The accuracy as the standard named in the requirement has it stated. */
  statement?: AccuracyStatement;
}

/** A likely cause and what to look at, never a verdict; with the figures that led to it. */
export interface LikelyCause {
  /** Id of the rule that says so. */
  rule: string;
  title: string;
  text: string;
  figures: Record<string, Figure>;
}

/** One pass pair; lengths in metres, differences are b minus a. */
export interface PassPairLine {
  a: string;
  b: string;
  cells: number;
  meanDz: number | null;
  rmsDz: number | null;
  maxDz: number | null;
  shift: (number | null)[];
  shiftStd: (number | null)[];
  observable: boolean[];
}

/** One survey point; dz is cloud minus survey, metres. */
export interface SurveyPointLine {
  id: string;
  role: 'control' | 'check';
  x: number;
  y: number;
  z: number;
  dz: number | null;
  dx?: number | null;
  dy?: number | null;
  n: number;
  method: string;
  perPass: { pass: string; dz: number | null; n: number }[];
  status: 'used' | 'blunder' | 'no-data' | 'no-target' | 'outside';
}

export interface FactRequest {
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
  /** For each figure that has a limit, the side on which it is good. */
  limitSense?: Readonly<Record<string, LimitSense>>;
  /** The element of data quality that the figures describe. */
  quality?: QualityElement;
  /** True where the check can weigh its own uncertainty; only then may a requirement ask for `decision: guarded`. */
  canGuard?: boolean;
  /** True where whole files are judged: a requirement that names a zone is then refused, not quietly judged without it. */
  wholeFiles?: boolean;
  /** The side files that a requirement is judged by, besides the zone of `zone`. A side file that no requirement uses is refused. */
  sideFiles?(requirement: Requirement<Options>): readonly ('points' | 'zones' | 'tiles' | 'manifest')[];
  needs(requirement: Requirement<Options>, context: JudgeContext): FactRequest[];
  /**
   * What is measured besides, in a second reading, once a requirement turns out not to be met: for likely causes alone. No
   * figure and no verdict may rest on it. `judge` gets it behind what `needs` asked for, undefined the first time.
   */
  needsForCauses?(requirement: Requirement<Options>, context: JudgeContext): FactRequest[];
  /** Lines for the reference of checks, below the rest: a table of rules, say. */
  appendix?(): readonly string[];
  /** Options in plain words, for `spec explain`: one sentence a project manager signs. */
  explain(requirement: Requirement<Options>): string;
  judge(measured: readonly unknown[], requirement: Requirement<Options>, context: JudgeContext): Verdict;
}

export interface OptionsSchema {
  properties: Record<string, Record<string, unknown>>;
  required: readonly string[];
  /** Given when at least one of several options must be there. */
  anyOf?: readonly { required: readonly string[] }[];
}

// biome-ignore lint/suspicious/noExplicitAny: the list holds checks of every kind; each is checked where it is defined
export type AnyCheck = Check<any>;
