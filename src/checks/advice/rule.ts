import type { Figure } from '../contract/check.js';

/** One survey point against the cloud in height. Metres; dz is cloud minus survey. */
export interface HeightResidual {
  id: string;
  x: number;
  y: number;
  z: number;
  dz: number;
  blunder: boolean;
  /** The passes on their own; `pass` is the name of the pass. */
  perPass: { pass: string; dz: number }[];
}

/** Heights at the check points, and the largest RMSE that is allowed, metres. */
export interface HeightFacts {
  limit: number;
  points: readonly HeightResidual[];
}

/** Places at the check points without the blunders, and the largest RMSE that is allowed. Metres; cloud minus survey. */
export interface HorizontalFacts {
  limit: number;
  points: readonly { id: string; x: number; y: number; dx: number; dy: number }[];
}

/** Check points that stand out from the others. `size` is the length of the difference, `spread` that of the others (RMS about their median). Metres. */
export interface BlunderFacts {
  blunders: readonly { id: string; size: number }[];
  others: number;
  spread: number;
}

/** Check points and cloud lie apart. Boxes in plan, metres: minimum x and y, maximum x and y. */
export interface PlacementFacts {
  points: number;
  surveyed: readonly [number, number, number, number];
  cloud: readonly [number, number, number, number];
}

/** A value with its standard deviation; null where nothing shows it. */
export interface Estimate {
  value: number;
  std: number;
}

/** How two passes lie to one another in the driving direction of the first. Metres; differences are b minus a. */
export interface DrivenPair {
  direction: 'same' | 'opposite';
  /** Shift along the drive of a, and to its left. */
  along: Estimate | null;
  left: Estimate | null;
  /** Rise of the height difference to the left, metres a metre, and the half width of the common strip it was seen on. */
  tilt: Estimate | null;
  halfWidth: number;
}

/** Medians of the height difference in squares of ground, metres: the 5th and the 95th percentile, and how many squares. */
export interface Variation {
  least: number;
  most: number;
  squares: number;
}

/** One pass pair. Metres; differences are b minus a. */
export interface PairFacts {
  a: string;
  b: string;
  /** They differ in the scanner channel alone: two heads on one vehicle. */
  heads: boolean;
  failing: boolean;
  cells: number;
  meanDz: number | null;
  /** Of the worst pair, the range of the height difference from place to place; null where the common surface is too small, and for other pairs. */
  variation: Variation | null;
  /** East, north, up; null on an axis that no surface reveals. */
  shift: readonly (number | null)[];
  /** Length of the part that can be seen, and the largest standard deviation of its directions. */
  length: number | null;
  std: number;
  /** Shift of whole voxels that had to be taken off before the passes could be compared. */
  gross: readonly number[];
  /** Null without GPS times, on winding roads and for passes that cross. */
  driven: DrivenPair | null;
  /** Of two heads, how the second is mounted against the first in the frame of the vehicle; null without a trajectory. */
  mounting?: Readonly<Record<'along' | 'left' | 'up' | 'roll' | 'pitch' | 'heading', Estimate | null>> | null;
  /** Rise of the height difference with the distance from the vehicle's track, metres a metre; null where it cannot be determined. */
  range: (Estimate & { farthest: number }) | null;
}

/** The pairs that were judged; the strictest of the limits, metres. */
export interface PassFacts {
  limit: number;
  pairs: readonly PairFacts[];
  /** Place in `pairs` of the worst one. */
  worst: number;
}

/** A pass that drifts or jumps. Seconds of GPS time, metres, metres a second. */
export interface DriftFacts {
  pass: string;
  /** Steps that stand out; `gap` is the time without a comparison before it, 0 for none. */
  steps: readonly { at: number; gap: number; step: number }[];
  /** Steepest slope; null where none can be determined. */
  slope: { from: number; to: number; slope: number; std: number } | null;
  /** Gaps of time: the last second before and the first after; slopes up to it and from it on, null where there is too little. */
  gaps: readonly { from: number; to: number; before: Estimate | null; after: Estimate | null }[];
}

export type VehicleAxis = 'along' | 'left' | 'up';

/** What a pass shows during an outage along one axis: the largest offset, and the medians of the minutes before and after; null where not seen. */
export interface OutageOffset {
  from: number;
  to: number;
  axis: VehicleAxis;
  peak: Estimate;
  before: number | null;
  after: number | null;
}

/** A straight line through the offsets of a pass outside outages; `at` gives its value at a time. Metres a second. */
export interface AxisCourse {
  axis: VehicleAxis;
  from: number;
  to: number;
  slope: Estimate;
  at: (time: number) => number;
}

/** A pass against the others in the frame of its vehicle, and what its drive did then. Seconds of GPS time, metres. */
export interface VehicleDriftFacts {
  pass: string;
  /** Smallest offset that matters. */
  limit: number;
  outages: readonly OutageOffset[];
  /** Largest size outside outages. */
  outside: Readonly<Record<VehicleAxis, number>>;
  courses: readonly AxisCourse[];
  /** Ends of the last alignment before the pass and of the next after it; null where there is none. */
  aligned: number | null;
  closing: number | null;
}

/** Smooth surfaces within one pass. Metres; null for figures without a limit. */
interface SurfaceFacts {
  pass: string;
  rms: number | null;
  maxRms: number | null;
  range: number | null;
  maxRange: number | null;
}

/** A loss of fixed position, and the heights of one pass against the others in its time. Seconds of GPS time, metres. */
interface OutageFacts {
  pass: string;
  start: number;
  seconds: number;
  bins: readonly { at: number; offset: number; std: number }[];
  /** Median offset of the pass outside the loss, metres; null where too little was compared there. */
  usual: number | null;
}

/** Facts by their kind: what a rule may read. */
export interface AdviceFacts {
  outage: OutageFacts;
  heights: HeightFacts;
  plan: HorizontalFacts;
  blunders: BlunderFacts;
  placement: PlacementFacts;
  passes: PassFacts;
  drift: DriftFacts;
  vehicleDrift: VehicleDriftFacts;
  surface: SurfaceFacts;
}

/** A sentence or two, and the figures that led to them. */
export interface Advice {
  text: string;
  figures: Record<string, Figure>;
}

/**
 * A rule of experience: from figures to a likely cause and what to look at. It never judges; it says nothing where the
 * figures fit another cause as well or better. Pure.
 */
export interface AdviceRule<Kind extends keyof AdviceFacts> {
  /** File name, kebab case; report.json names it beside the sentence. */
  id: string;
  /** The likely cause in a few words. */
  title: string;
  /** One sentence: how this cause shows in the figures. */
  why: string;
  /** Where the rule comes from; `note` says so when it is common practice only. */
  sources: readonly { standard: string; clause?: string; note?: string }[];
  reads: Kind;
  advise(facts: AdviceFacts[Kind]): Advice | null;
}
