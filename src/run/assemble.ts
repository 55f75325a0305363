import type { AnyCheck, Evidence, Figure, Verdict } from '../checks/check.js';
import { type DeliveredFile, type DeliveryFacts, passLabel } from '../delivery/delivery.js';
import { QUANTA_PER_METRE } from '../measure/measurement.js';
import type { TallyRow } from '../measure/tally.js';
import type { FileResult, Finding, Report, RequirementResult } from '../report/model.js';
import type { AcceptanceSpec, SpecRequirement } from '../spec/acceptance-spec.js';
import { type Measured, TALLY } from './measure-delivery.js';
import { toolVersion } from './version.js';

export interface Judged {
  requirement: SpecRequirement;
  check: AnyCheck;
  verdict: Verdict;
}

/** Puts verdicts and facts into report.json's shape. One verdict feeds every output. */
export function assembleReport(
  spec: AcceptanceSpec,
  delivery: DeliveryFacts,
  measured: Measured,
  judged: Judged[],
): Report {
  const tally = measured.facts.get(TALLY) as TallyRow[];
  const files = delivery.files.map(fileResult);
  return {
    report: '1',
    verdict: overall(judged, delivery),
    tool: { name: 'cloudassay', version: toolVersion() },
    spec: { title: spec.title, sha256: spec.sha256, file: spec.file },
    delivery: {
      files: files.length,
      points: tally.reduce((sum, row) => sum + row.points, 0),
      bytes: files.reduce((sum, file) => sum + file.bytes, 0),
      extent: extentOf(tally),
      crs: crsOf(delivery),
      passesBy:
        delivery.passRule.by === 'gps-time-gap' ? `gps-time-gap of ${delivery.passRule.gap} s` : delivery.passRule.by,
      unreadable: files.filter((file) => file.fault !== null).length,
    },
    requirements: judged.map(requirementResult),
    files,
    passes: delivery.passes.map(({ key, points }) => ({ pass: passLabel(delivery, key), points })),
    passPairs: firstOf(judged, (verdict) => verdict.passPairs),
    surveyPoints: firstOf(judged, (verdict) => verdict.surveyPoints),
    findings: findingsOf(delivery, tally),
  };
}

/** Rejected when a mandatory requirement fails; accepted only when all of them pass and every file was read. */
function overall(judged: Judged[], delivery: DeliveryFacts): Report['verdict'] {
  const mandatory = judged
    .filter(({ requirement }) => requirement.level === 'mandatory')
    .map(({ verdict }) => verdict.state);
  if (mandatory.includes('fail')) return 'rejected';
  if (mandatory.includes('undetermined') || delivery.files.some((file) => file.fault !== null)) return 'undetermined';
  return 'accepted';
}

function requirementResult({ requirement, check, verdict }: Judged): RequirementResult {
  const figures = { ...verdict.limits, ...verdict.measured };
  return {
    id: requirement.id,
    check: check.id,
    title: verdict.state === 'fail' ? check.title.fail : check.title.pass,
    why: check.why,
    level: requirement.level,
    decision: requirement.decision,
    zone: requirement.zone ?? null,
    verdict: verdict.state,
    summary: verdict.summary,
    measured: valuesOf(verdict.measured),
    limits: valuesOf(verdict.limits),
    units: Object.fromEntries(Object.entries(figures).map(([name, { unit }]) => [name, unit])),
    advice: verdict.advice,
    locations: verdict.evidence.flatMap((e) => (e.kind === 'locations' ? e.items : [])),
    tables: verdict.evidence.flatMap((e) =>
      e.kind === 'table' ? [{ title: e.title, columns: e.columns, rows: e.rows }] : [],
    ),
    histograms: verdict.evidence.flatMap((e) => histogramOf(e)),
  };
}

function histogramOf(e: Evidence): RequirementResult['histograms'] {
  return e.kind === 'histogram' ? [{ title: e.title, unit: e.unit, edges: e.edges, counts: e.counts }] : [];
}

function valuesOf(figures: Record<string, Figure>): Record<string, number | null> {
  return Object.fromEntries(Object.entries(figures).map(([name, { value }]) => [name, value]));
}

/** The lines of the first requirement that has any: several may ask for the same comparison with other limits. */
function firstOf<T>(judged: Judged[], pick: (verdict: Verdict) => T[] | undefined): T[] {
  return judged.map(({ verdict }) => pick(verdict) ?? []).find((lines) => lines.length > 0) ?? [];
}

function fileResult(file: DeliveredFile): FileResult {
  const { name, bytes, packing, header, fault } = file;
  return {
    file: name,
    bytes,
    packing,
    version: header ? `${header.versionMajor}.${header.versionMinor}` : null,
    pointFormat: header?.pointFormat ?? null,
    points: header?.pointCount ?? 0,
    extent: header && header.pointCount > 0 ? headerExtent(file) : null,
    fault,
  };
}

/** World metres, as the header claims: [minX, minY, minZ, maxX, maxY, maxZ]. */
function headerExtent({ header, planUnit, heightUnit }: DeliveredFile): number[] {
  const units = [planUnit, planUnit, heightUnit];
  return [...header!.min.map((v, k) => v * units[k]), ...header!.max.map((v, k) => v * units[k])];
}

function extentOf(tally: TallyRow[]): number[] | null {
  const lows = [0, 1, 2].map((axis) => Math.min(...tally.map((row) => row.box[axis])));
  const highs = [3, 4, 5].map((axis) => Math.max(...tally.map((row) => row.box[axis])));
  return Number.isFinite(lows[0]) ? [...lows, ...highs].map((quanta) => quanta / QUANTA_PER_METRE) : null;
}

function crsOf({ files, declaredCrs }: DeliveryFacts): Report['delivery']['crs'] {
  const found = files.find((file) => file.crs?.horizontal)?.crs;
  const code = (part: { name: string; epsg: number | null } | null | undefined) =>
    part ? (part.epsg === null ? part.name : `EPSG:${part.epsg}`) : null;
  return {
    horizontal: code(found?.horizontal) ?? declaredCrs.horizontal,
    vertical: code(found?.vertical) ?? declaredCrs.vertical,
    unit: found?.horizontal?.unit.name ?? declaredCrs.unit,
  };
}

function findingsOf({ files }: DeliveryFacts, tally: TallyRow[]): Finding[] {
  const findings: Finding[] = [];
  for (const file of files) {
    if (file.fault !== null)
      findings.push({ severity: 'error', code: 'file-not-read', file: file.name, text: file.fault });
    else if (file.header?.pointCount === 0) {
      findings.push({
        severity: 'warning',
        code: 'file-without-points',
        file: file.name,
        text: 'The file holds no points.',
      });
    }
  }
  const withheld = tally.reduce((sum, row) => sum + row.withheld, 0);
  if (withheld > 0) {
    findings.push({
      severity: 'note',
      code: 'withheld-points',
      text: `${withheld.toLocaleString('en-GB')} points are flagged withheld and were left out of every measurement but the header recount.`,
    });
  }
  return findings;
}
