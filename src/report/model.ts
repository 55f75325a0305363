/**
 * The TypeScript types of report.json. All come from its declaration in src/report-shape; specs/report.md and
 * specs/report.schema.json come from it too.
 */
export type { Overview } from '../report-shape/delivery.js';
export type {
  GridResult,
  HistogramResult,
  ResidualResult,
  SectionResult,
  SeriesResult,
} from '../report-shape/evidence.js';
export type { FileResult, Finding, PassPairLine, SurveyPointLine } from '../report-shape/lines.js';
export type { Report } from '../report-shape/report.js';
export type { RequirementResult } from '../report-shape/requirement.js';
export type { AccuracyStatement } from '../report-shape/statement.js';
