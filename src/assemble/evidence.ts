import type { Evidence, Verdict } from '../checks/contract/check.js';
import { encodeGrid } from '../report/grid-code.js';
import type { RequirementResult, SectionResult } from '../report/model.js';
import { encodeSectionPoints } from '../report/section-code.js';

type Shown = Pick<
  RequirementResult,
  'locations' | 'tables' | 'histograms' | 'residuals' | 'series' | 'grids' | 'sections'
>;

/** Points kept of a cross-section: at most `most`, fewer when there are many cross-sections, but not below `least`. */
const SECTION_POINTS = { most: 400, least: 60, altogether: 24_000 };

/** The evidence of a verdict as report.json has it. `crossSections`: those that were sampled after the verdict. */
export function evidenceOf(verdict: Verdict, crossSections: readonly Evidence[]): Shown {
  const evidence = [...verdict.evidence, ...crossSections];
  const sections = evidence.filter((e) => e.kind === 'section').length;
  const kept = Math.floor(SECTION_POINTS.altogether / Math.max(1, sections));
  const most = Math.min(SECTION_POINTS.most, Math.max(SECTION_POINTS.least, kept));
  const shown: Shown = {
    locations: [],
    tables: [],
    histograms: [],
    residuals: [],
    series: [],
    grids: [],
    sections: [],
  };
  for (const e of evidence) addTo(shown, e, most);
  return shown;
}

function addTo(shown: Shown, e: Evidence, sectionPoints: number): void {
  switch (e.kind) {
    case 'locations':
      for (const { crossSectionRadius: _, ...location } of e.items) shown.locations.push(location);
      break;
    case 'table':
      shown.tables.push({ title: e.title, columns: e.columns, rows: e.rows });
      break;
    case 'histogram':
      shown.histograms.push({
        title: e.title,
        unit: e.unit,
        edges: e.edges,
        counts: e.counts,
        normal: e.normal ?? null,
        limit: e.limit ?? null,
        sense: e.sense ?? null,
      });
      break;
    case 'residuals': {
      const { kind: _, ...residuals } = e;
      shown.residuals.push(residuals);
      break;
    }
    case 'series':
      shown.series.push({
        title: e.title,
        unit: e.unit,
        along: e.along,
        lines: e.lines,
        limit: e.limit ?? null,
        ...(e.sense ? { sense: e.sense } : {}),
      });
      break;
    case 'grid':
      if (e.cells.value.length > 0) {
        const { title, unit, cell, signed } = e;
        const head = { title, unit, cell, signed, limit: e.limit ?? null, sense: e.sense ?? null };
        shown.grids.push(encodeGrid(head, e.cells));
      }
      break;
    case 'placed-values':
      // The sections of the route and the charts along it are made of them (route-sections.ts).
      break;
    case 'section':
      shown.sections.push(sectionOf(e, sectionPoints));
  }
}

function sectionOf(e: Extract<Evidence, { kind: 'section' }>, most: number): SectionResult {
  const points = Math.min(most, e.dx.length);
  return {
    title: e.title,
    surveyPoint: e.surveyPoint ?? null,
    x: e.x,
    y: e.y,
    z: e.z,
    reach: e.radius,
    plane: e.plane,
    passes: e.passes,
    found: e.found,
    points,
    data: encodeSectionPoints({
      dx: e.dx.subarray(0, points),
      dy: e.dy.subarray(0, points),
      dz: e.dz.subarray(0, points),
      pass: e.pass.subarray(0, points),
    }),
  };
}
