import type { DeliveryFacts } from '../../delivery/delivery.js';
import type { FaultFacts } from '../../fault.js';
import type { FactRequests, ResultsOf } from '../../measure/fact-types.js';
import type { LocationResult, ResidualResult, TableResult } from '../../report-shape/evidence.js';
import type { PassPairLine, SurveyPointLine } from '../../report-shape/lines.js';
import type { AccuracyStatement } from '../../report-shape/statement.js';
import type { LIMIT_SENSES, QUALITY_ELEMENTS, STATES } from '../../report-shape/words.js';
import type { Figure, Unit } from './figure.js';
import type { Metrics } from './metric.js';
import type { PlacedValues } from './placed-values.js';

export type { Figure, PassPairLine, SurveyPointLine, Unit };

export type State = (typeof STATES)[number];

/** The side of a limit on which a value meets it. */
type LimitSense = (typeof LIMIT_SENSES)[number];

/** What a report shows beside a verdict. Reports know these kinds and no check by name. */
export type Evidence =
  | { kind: 'locations'; title: string; items: Location[] }
  | ({ kind: 'table' } & TableResult)
  | HistogramEvidence
  | GridEvidence
  | ResidualEvidence
  | SeriesEvidence
  | CrossSectionEvidence
  | PlacedValues;

/** Counts in classes. `normal`: a normal curve to draw over them; `limit`: a value to mark, in the unit of `edges`. */
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

/** Values of square cells, for maps. The values of a `signed` grid are on both sides of zero, and so is its limit. */
export interface GridEvidence {
  kind: 'grid';
  title: string;
  unit: Unit;
  /** Edge of a cell, metres. */
  cell: number;
  cells: GridCells;
  limit?: number;
  /** The side of the limit on which a cell meets it; a signed grid meets it between minus and plus the limit. */
  sense?: LimitSense;
  signed: boolean;
}

/** Single differences by name, with the figures they are judged by, all in one unit. */
type ResidualEvidence = { kind: 'residuals' } & ResidualResult;

/** Values along time or distance, one line for each pass; `null` interrupts a line. */
interface SeriesEvidence {
  kind: 'series';
  title: string;
  unit: Unit;
  along: { title: string; unit: Unit };
  lines: { name: string; x: number[]; y: (number | null)[] }[];
  /** Applies to both sides of zero, or to the one that `sense` names. */
  limit?: number;
  sense?: LimitSense;
}

/** A sample of the points around one place, for a view from above and cross-sections. The number of points is bounded. */
export interface CrossSectionEvidence {
  kind: 'section';
  title: string;
  /** Id of the survey point at the centre, where there is one. */
  surveyPoint?: string;
  /** World coordinates of the centre, metres. */
  x: number;
  y: number;
  z: number;
  /** Horizontal radius around the centre, metres. */
  radius: number;
  /** Plane of the cloud at the centre: height above z in metres, slope along x and along y in metres per metre. */
  plane: { height: number; slopeX: number; slopeY: number } | null;
  passes: string[];
  /** Number of points within the radius; the arrays hold a random sample of them. */
  found: number;
  /** Metres from the centre, and the index in `passes`. The first k points are a random sample as well. */
  dx: Float64Array;
  dy: Float64Array;
  dz: Float64Array;
  pass: Uint8Array;
}

/** Classes of data quality elements of ISO 19157:2013. */
type QualityElement = (typeof QUALITY_ELEMENTS)[number];

/** Cells of a grid, one entry for each: column and row are floor(world / cell). */
export interface GridCells {
  column: Int32Array;
  row: Int32Array;
  value: Float64Array;
}

/** A place where something is wrong. World metres in the coordinate system of the cloud. */
export type Location = LocationResult & {
  /** Horizontal radius of a cross-section, metres; given where a cross-section of the points helps the reader. */
  crossSectionRadius?: number;
};

/** The verdict of a check on one requirement. A pass has at least one figure in `measured`. */
export interface Verdict {
  state: State;
  /** One sentence: what was found, and what the requirement asks for. */
  summary: string;
  measured: Record<string, Figure>;
  limits: Record<string, Figure>;
  evidence: Evidence[];
  /** Set where cloudassay itself failed: the requirement is undetermined, and no file is to blame. */
  internalError?: FaultFacts;
  /** What to do so that the requirement can be met or judged. */
  advice: string[];
  /** Likely causes that the rules of src/checks/advice found in the figures. */
  causes?: LikelyCause[];
  /** Rows for the tables of pass pairs and survey points in the report, from the checks that compare them. */
  passPairs?: PassPairLine[];
  surveyPoints?: SurveyPointLine[];
  /** The accuracy, stated as the standard that the requirement names prescribes. */
  statement?: AccuracyStatement;
}

/** A likely cause, what to look at, and the figures that led to it. It is never a verdict. */
export interface LikelyCause {
  /** Id of the rule of advice. */
  rule: string;
  title: string;
  text: string;
  figures: Record<string, Figure>;
}

/** A requirement of the acceptance spec: the keys that all requirements have, and the options of its check. */
export type Requirement<Options> = Options & {
  id: string;
  check: string;
  zone?: string;
  level: 'mandatory' | 'advisory';
  decision: 'simple' | 'guarded';
};

/** What a check may know besides the facts it asked for: facts of the delivery, without points and without file access. */
export interface JudgeContext {
  delivery: DeliveryFacts;
}

/** What a check asks to be measured for a requirement: a function from the requirement to named requests. */
type Needs<Options> = (requirement: Requirement<Options>, context: JudgeContext) => FactRequests;

/** The needs of a check that asks for nothing. */
type NoNeeds = () => Readonly<Record<never, never>>;

/** What `judge` receives: the results of what the check asked for. What is asked for causes alone may be undefined. */
type MeasuredFacts<
  Own extends (...given: never) => FactRequests,
  Causes extends (...given: never) => FactRequests,
> = ResultsOf<ReturnType<Own>> & Partial<ResultsOf<ReturnType<Causes>>>;

/**
 * A check: an opinion on named facts. It is pure and synchronous, and sees only the facts it asked for. Each check ends
 * with `satisfies Check<MyOptions, typeof needs>`, so that the compiler compares what `judge` reads with what `needs` asks for.
 */
export interface Check<Options, Own extends Needs<Options> = NoNeeds, Causes extends Needs<Options> = NoNeeds> {
  /** The name of the file, in kebab case; the spec names the check by it. */
  id: string;
  /** What is judged, in a few words; it does not change with the verdict, so that names in test reports stay the same. */
  title: string;
  /** One or two sentences: what goes wrong in later work when the requirement is not met. */
  why: string;
  /** Where the rule comes from; `note` says so when it is common practice only. */
  sources: { standard: string; clause?: string; note?: string }[];
  /** JSON Schema 2020-12 of the options: { properties, required }; every property described, with its unit. */
  schema: OptionsSchema;
  /** The figures by the name that scripts find in report.json, each with its label, its unit and its limit. */
  metrics: Metrics;
  /** The element of data quality that the figures describe. */
  quality?: QualityElement;
  /** True where the check computes the uncertainty of its figures; only then may a requirement ask for `decision: guarded`. */
  canGuard?: boolean;
  /** True where whole files are judged: a requirement that names a zone is then refused. */
  wholeFiles?: boolean;
  /** Only all points together can tell: a sample of them (--sample) then gives neither verdict nor figures. */
  allPoints?: boolean;
  /** The side files that a requirement is judged by, besides the zone of `zone`. A side file that no requirement uses is refused. */
  sideFiles?(requirement: Requirement<Options>): readonly ('points' | 'zones' | 'tiles' | 'manifest' | 'trajectory')[];
  /** The requests, each under a name; undefined for what this requirement does not need. */
  needs: Own;
  /**
   * Requests for a second reading, made only when the requirement is not met: for likely causes. No figure and no verdict
   * may rest on them. `judge` is then called again, with their results beside the others.
   */
  needsForCauses?: Causes;
  /** Lines that follow the options in the reference of checks, such as a table of rules. */
  appendix?(): readonly string[];
  /** The requirement in plain words, for `spec explain`: one sentence. */
  explain(requirement: Requirement<Options>): string;
  judge(facts: MeasuredFacts<Own, Causes>, requirement: Requirement<Options>, context: JudgeContext): Verdict;
}

interface OptionsSchema {
  properties: Record<string, Record<string, unknown>>;
  required: readonly string[];
  /** Given where at least one of several options is required. */
  anyOf?: readonly { required: readonly string[] }[];
}

// biome-ignore lint/suspicious/noExplicitAny: the list holds checks of every kind; each is checked where it is defined
export type AnyCheck = Check<any, any, any>;
