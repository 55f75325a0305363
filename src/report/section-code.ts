import type { SectionResult } from './model.js';
import { packLists, unpackLists } from './packed-lists.js';

/** Points around the centre of a cross-section: metres from it, and the index of each point's pass in the list of passes. */
export interface SectionPoints {
  dx: Float64Array;
  dy: Float64Array;
  dz: Float64Array;
  pass: Uint8Array;
}

/** Coordinates are rounded to the quantum of 0.1 mm. */
const STEP = 1e-4;
const BYTES = 4;

/** The points as text for report.json: four packed lists, dx, dy and dz in steps of 0.1 mm, and the pass. */
export function encodeSectionPoints({ dx, dy, dz, pass }: SectionPoints): string {
  const steps = (metres: Float64Array) => ({ values: metres.map((v) => Math.round(v / STEP)), bytes: BYTES });
  return packLists([steps(dx), steps(dy), steps(dz), { values: pass, bytes: BYTES }]);
}

/** The points of a section of report.json, metres from its centre. */
export function decodeSectionPoints({ points, data }: SectionResult): SectionPoints {
  const [dx, dy, dz, pass] = unpackLists(
    data,
    Array.from({ length: 4 }, () => ({ count: points, bytes: BYTES })),
  );
  const metres = (steps: Int32Array) => Float64Array.from(steps, (v) => v * STEP);
  return { dx: metres(dx), dy: metres(dy), dz: metres(dz), pass: Uint8Array.from(pass) };
}
