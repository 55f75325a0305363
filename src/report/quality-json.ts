import { figuresWithLimits, figuresWithoutLimits, limitWords } from './figures.js';
import { tidyNumber } from './json.js';
import type { Report, RequirementResult } from './model.js';

/**
 * JSON text with the verdicts as data quality elements in the terms of ISO 19157:2013: for every requirement its element, scope,
 * measure, evaluation method, quantitative results and conformance result. The names are those of the classes in the
 * standard. The layout is our own, since the standard defines no JSON.
 */
export function reportQuality(report: Report): string {
  const list = {
    standard: 'ISO 19157:2013',
    scope: scopeOf(report),
    specification: specificationOf(report),
    evaluatedBy: { name: report.tool.name, version: report.tool.version, procedure: report.tool.command },
    conforms: report.verdict === 'accepted' ? true : report.verdict === 'rejected' ? false : null,
    elements: report.requirements.filter((r) => r.verdict !== 'not-applicable').map((r) => elementOf(r, report)),
  };
  return `${JSON.stringify(list, null, 2)}\n`;
}

function scopeOf({ delivery }: Report): object {
  return {
    level: 'dataset',
    referenceSystem: { horizontal: delivery.crs.horizontal, vertical: delivery.crs.vertical },
    extent: delivery.extent?.map(tidyNumber) ?? null,
    temporalExtent: delivery.captured,
    files: delivery.files,
    points: delivery.points,
  };
}

function specificationOf({ spec }: Report): object {
  return { title: spec.title, identifier: spec.file, sha256: spec.sha256 };
}

function elementOf(requirement: RequirementResult, report: Report): object {
  return {
    element: requirement.quality ?? 'DQ_UsabilityElement',
    identifier: requirement.id,
    scope: requirement.zone === null ? null : { level: 'zone', description: requirement.zone },
    measure: { name: requirement.check, description: requirement.title },
    evaluationMethod: {
      // Survey points are a reference outside the data (ISO 19157:2013, 9.2); all else is evaluated from the data alone.
      type: requirement.residuals.length > 0 ? 'directExternal' : 'directInternal',
      description: requirement.why,
    },
    results: [...quantities(requirement), conformanceOf(requirement, report)],
  };
}

function quantities(requirement: RequirementResult): object[] {
  return [...figuresWithLimits(requirement), ...figuresWithoutLimits(requirement)]
    .filter(({ measured }) => measured !== undefined)
    .map(({ name, measured, unit }) => ({
      type: 'DQ_QuantitativeResult',
      valueType: name,
      value: typeof measured === 'number' ? tidyNumber(measured) : null,
      valueUnit: unit,
    }));
}

function conformanceOf(requirement: RequirementResult, report: Report): object {
  return {
    type: 'DQ_ConformanceResult',
    specification: specificationOf(report),
    conformanceLevel: figuresWithLimits(requirement).map((pair) => `${pair.label} ${limitWords(pair)}`),
    obligation: requirement.level,
    explanation: requirement.summary,
    pass: requirement.verdict === 'pass' ? true : requirement.verdict === 'fail' ? false : null,
  };
}
