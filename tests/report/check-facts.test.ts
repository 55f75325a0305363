import { expect, test } from 'vitest';
import { checks } from '../../src/checks/index.js';

// Classes of ISO 19157:2013 as in its schema (namespace mdq), from memory of the schema and of several uses of it.
const ELEMENTS = [
  'DQ_CompletenessCommission',
  'DQ_CompletenessOmission',
  'DQ_ConceptualConsistency',
  'DQ_DomainConsistency',
  'DQ_FormatConsistency',
  'DQ_TopologicalConsistency',
  'DQ_AbsoluteExternalPositionalAccuracy',
  'DQ_RelativeInternalPositionalAccuracy',
  'DQ_GriddedDataPositionalAccuracy',
  'DQ_ThematicClassificationCorrectness',
  'DQ_NonQuantitativeAttributeCorrectness',
  'DQ_QuantitativeAttributeAccuracy',
  'DQ_AccuracyOfATimeMeasurement',
  'DQ_TemporalConsistency',
  'DQ_TemporalValidity',
  'DQ_UsabilityElement',
];

test.each(checks.map((check) => [check.id, check] as const))(
  '%s says on which side of its limits the good lies, and which element of quality it describes',
  (_, check) => {
    expect(Object.values(check.metrics).filter(({ limit }) => limit).length).toBeGreaterThan(0);
    expect(ELEMENTS).toContain(check.quality);
  },
);
