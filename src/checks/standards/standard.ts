import type { PointSpread } from '../../geometry/point-spread.js';
import type { AccuracyStatement } from '../../report-shape/statement.js';
import type { MarkedSource } from './mark.js';
import type { PointCountTable } from './point-count-tables.js';

export type { AccuracyStatement, MarkedSource };

/** What was tested: heights, places in plan, or places in space. */
export type Aspect = 'vertical' | 'horizontal' | 'space';

/** Errors of a group of check points, cloud minus survey, metres; divisor n for every RMSE, survey accuracy not added. */
export interface TestedPoints {
  points: number;
  /** Null for a component that was not tested. */
  rmseX: number | null;
  rmseY: number | null;
  rmseZ: number | null;
  /** Largest mean of a component, absolute values. */
  mean: number;
  /** 95th percentile of the errors, absolute values (of the lengths in plan or in space), type 7. */
  p95: number;
  /** Accuracy of the survey of the points, RMS: of both axes in plan, of height. Null unless stated for every point. */
  surveyH: number | null;
  surveyV: number | null;
}

/** All that a standard may look at when it states an accuracy. Metres and square metres. */
export interface AccuracyFacts {
  aspect: Aspect;
  /** Unit of the coordinates of the cloud that were tested, in metres, and the decimals they are stored with. */
  unit: { metres: number; decimals: number };
  /** RMSE aimed at; null where the requirement sets none. */
  target: number | null;
  /** Points on open ground for heights, all points otherwise; null when there is none. Blunders are left out. */
  tested: TestedPoints | null;
  /** For heights: points in vegetation, none left out; null when there is none. */
  vegetated: TestedPoints | null;
  /** Points that are control points too, or given twice, in words: not independent, so that no class can be claimed. */
  doubles: readonly string[];
  /** Names of points left out as blunders, and how many the requirement accepts. */
  blunders: readonly string[];
  blundersAccepted: number;
  /** Check points that could not be compared with the cloud. */
  untested: number;
  /** Why the cloud itself was not wholly looked at, one sentence each: no class can be claimed then. */
  incomplete: readonly string[];
  /** Area that the points represent; null when unknown. */
  area: number | null;
  spread: PointSpread | null;
  layout: 'area' | 'corridor';
  /** Table of check points to hold the number against, instead of the standard's own. */
  table: PointCountTable | null;
}

/** A standard of positional accuracy: pure, one file each. */
export interface AccuracyStandard {
  /** File name and the word used in the spec. */
  id: string;
  title: string;
  /** What it can state. */
  aspects: readonly Aspect[];
  /** Whether the accuracy of the check point survey is added to the RMSE in quadrature. */
  addsSurvey: boolean;
  statement(facts: AccuracyFacts): AccuracyStatement;
}
