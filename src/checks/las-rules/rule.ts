import type { FormatRule } from '../../cloud/format-issue.js';

export type Severity = 'error' | 'warning';

/** Rules that take the points to test, beside those a reader meets in header and records. */
export type PointRule = 'copc-points' | 'copc-times' | 'extra-bytes-extremes';

/** Name of a rule inside the program; users see its id. */
export type RuleName = FormatRule | PointRule;

/** One rule of the format, ranked. */
export interface StructureRule {
  id: string;
  /** LAS versions it holds for. */
  versions: string;
  /**
   * Errors keep a file from being read right, or break what the text demands and readers rely on. Everyday deviations that
   * harm nobody, and demands that only a later revision added, are warnings.
   */
  severity: Severity;
  /** Minor version from which the severity holds; files of earlier versions are only warned about. */
  from?: number;
  /** Where the rule comes from. */
  clause: string;
  /** The rule in one sentence. */
  text: string;
}

/** One line of a table of rules. */
export function rule(
  id: string,
  versions: string,
  severity: Severity,
  clause: string,
  text: string,
  from?: number,
): StructureRule {
  return from === undefined ? { id, versions, severity, clause, text } : { id, versions, severity, from, clause, text };
}

/** How bad it is in a file of this minor version. */
export function severityIn({ severity, from }: StructureRule, versionMinor: number): Severity {
  return from !== undefined && versionMinor < from ? 'warning' : severity;
}
