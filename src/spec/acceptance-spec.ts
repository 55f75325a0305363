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

/** How points belong to passes; `gap` in seconds. */
export type SpecPasses =
  | { by: 'point-source-id' }
  | { by: 'file' }
  | { by: 'scanner-channel' }
  | { by: 'gps-time-gap'; gap: number };

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
