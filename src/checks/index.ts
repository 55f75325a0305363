import type { AnyCheck } from './check.js';
import { crs } from './crs.js';
import { density } from './density.js';
import { duplicates } from './duplicates.js';
import { edgeMatch } from './edge-match.js';
import { headerAgreement } from './header-agreement.js';
import { passAgreement } from './pass-agreement.js';
import { passDrift } from './pass-drift.js';
import { pointAttributes } from './point-attributes.js';
import { surfacePrecision } from './surface-precision.js';
import { verticalAccuracy } from './vertical-accuracy.js';
import { voids } from './voids.js';

/** Every check there is: one line each. */
export const checks: readonly AnyCheck[] = [
  crs,
  density,
  duplicates,
  edgeMatch,
  headerAgreement,
  passAgreement,
  passDrift,
  pointAttributes,
  surfacePrecision,
  verticalAccuracy,
  voids,
];

/** Checks the acceptance spec knows by name but this version does not make yet: refused clearly, never passed. */
export const plannedChecks: readonly string[] = [
  'accuracy-3d',
  'alignment-periods',
  'classification',
  'coverage',
  'horizontal-accuracy',
  'isolated-points',
  'las-structure',
  'point-distribution',
  'route-coverage',
  'survey-point-set',
  'tiling',
  'trajectory-quality',
  'transfer-integrity',
];

export function checkById(id: string): AnyCheck | null {
  return checks.find((check) => check.id === id) ?? null;
}
