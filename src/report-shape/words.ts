/** Lists of words that appear in several objects of report.json, and in the contract of checks. */

/** Units of figures: metres, square metres, points per square metre, a count, a share from 0 to 1, and so on. */
export const UNITS = ['m', 'm2', 'points/m2', 'count', 'share', 'ratio', 'mm/min', 's', 'km/h', 'degree'] as const;

/** The side of a limit on which a value meets it. */
export const LIMIT_SENSES = ['at-most', 'at-least'] as const;

/** Verdicts on one requirement. */
export const STATES = ['pass', 'fail', 'undetermined', 'not-applicable'] as const;

/** Classes of data quality elements of ISO 19157:2013 (names as in its schema, namespace mdq). */
export const QUALITY_ELEMENTS = [
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
] as const;
