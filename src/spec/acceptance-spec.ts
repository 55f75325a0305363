/** A requirement as loaded: common keys and the options of its check, defaults filled in. Lengths in metres. */
export interface SpecRequirement {
  id: string;
  check: string;
  /** Name of a polygon; absent when the whole delivery is judged. */
  zone?: string;
  level: 'mandatory' | 'advisory';
  decision: 'simple' | 'guarded';
  note?: string;
  [option: string]: unknown;
}

/** The criteria by which passes are separated, in the order in which they are named in the label of a pass. */
export const PASS_CRITERIA = ['file', 'point-source-id', 'gps-time-gap', 'trajectory', 'scanner-channel'] as const;

/** One of `PASS_CRITERIA`. */
export type PassCriterion = (typeof PASS_CRITERIA)[number];

/**
 * How points belong to passes: points of one pass agree in every criterion. `by`: at least one, in the order of
 * `PASS_CRITERIA`; `gap`: seconds, with gps-time-gap only.
 */
export interface SpecPasses {
  by: readonly PassCriterion[];
  gap?: number;
}

/** A loaded acceptance spec. */
export interface AcceptanceSpec {
  title: string;
  /** Required coordinate system; null where any is accepted. */
  crs: { horizontal: string | null; vertical: string | null; unit: string | null };
  passes: SpecPasses;
  requirements: SpecRequirement[];
  /** SHA-256 of the file, lower-case hexadecimal. */
  sha256: string;
  /** Base name of the file, without the folder, so that two machines write the same report. */
  file: string;
}
