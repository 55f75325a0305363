import { accuracy3d } from './accuracy-3d.js';
import { alignment } from './alignment.js';
import { classification } from './classification.js';
import type { AnyCheck } from './contract/check.js';
import { controlSpacing } from './control-spacing.js';
import { coverage } from './coverage.js';
import { crs } from './crs.js';
import { density } from './density.js';
import { duplicates } from './duplicates.js';
import { edgeMatch } from './edge-match.js';
import { fileFormat } from './file-format.js';
import { headerAgreement } from './header-agreement.js';
import { horizontalAccuracy } from './horizontal-accuracy.js';
import { isolatedPoints } from './isolated-points.js';
import { lasStructure } from './las-structure.js';
import { outages } from './outages.js';
import { passAgreement } from './pass-agreement.js';
import { passDrift } from './pass-drift.js';
import { pointAttributes } from './point-attributes.js';
import { pointDistribution } from './point-distribution.js';
import { range } from './range.js';
import { routeCoverage } from './route-coverage.js';
import { surfacePrecision } from './surface-precision.js';
import { surveyPointSet } from './survey-point-set.js';
import { tiling } from './tiling.js';
import { trajectoryQuality } from './trajectory-quality.js';
import { transferIntegrity } from './transfer-integrity.js';
import { verticalAccuracy } from './vertical-accuracy.js';
import { voids } from './voids.js';

/** Every check there is: one line each. */
export const checks: readonly AnyCheck[] = [
  accuracy3d,
  alignment,
  classification,
  controlSpacing,
  coverage,
  crs,
  density,
  duplicates,
  edgeMatch,
  fileFormat,
  headerAgreement,
  horizontalAccuracy,
  isolatedPoints,
  lasStructure,
  outages,
  passAgreement,
  passDrift,
  pointAttributes,
  pointDistribution,
  range,
  routeCoverage,
  surfacePrecision,
  surveyPointSet,
  tiling,
  trajectoryQuality,
  transferIntegrity,
  verticalAccuracy,
  voids,
];

/** Checks the acceptance spec knows by name but this version does not make yet: refused clearly, never passed. */
export const plannedChecks: readonly string[] = [];

export function checkById(id: string): AnyCheck | null {
  return checks.find((check) => check.id === id) ?? null;
}
