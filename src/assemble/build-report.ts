import { toolVersion } from '../built.js';
import type { AnyCheck, CrossSectionEvidence, Figure, Verdict } from '../checks/contract/check.js';
import type { Metric } from '../checks/contract/metric.js';
import { horizontalWkt } from '../cloud/crs.js';
import { agreedSystem, codeOrName } from '../delivery/agreed-system.js';
import { type DeliveredFile, type DeliveryFacts, passLabel } from '../delivery/delivery.js';
import { passRuleWords } from '../delivery/passes.js';
import { damagedPoints, isOnlyDamaged } from '../engine/damaged-chunks.js';
import { type MeasuredDelivery, POINT_COUNTS } from '../engine/measure-delivery.js';
import { Fault, type FaultFacts, INTERNAL_ERROR, isInternalError } from '../fault.js';
import { QUANTA_PER_METRE } from '../measure/contract/measurement.js';
import { fact, requestList } from '../measure/fact-types.js';
import type { TallyRow } from '../measure/point-counts.js';
import type { FileResult, Finding, Report, RequirementResult } from '../report/model.js';
import type { AcceptanceSpec, SpecRequirement } from '../spec/acceptance-spec.js';
import { contradictions } from './contradictions.js';
import { damageFindings } from './damage-findings.js';
import { capturedDates, writtenDates } from './dates.js';
import { evidenceOf } from './evidence.js';
import { overviewOf, overviewRequests } from './overview.js';
import { routeSections, routeSeries } from './route-sections.js';
import { type Stations, stationingLines, stationsOf, withStations } from './stationing.js';
import { mergeSurveyLines } from './survey-lines.js';

export interface JudgedRequirement {
  requirement: SpecRequirement;
  check: AnyCheck;
  verdict: Verdict;
  /** Cross-sections at places where the requirement is not met; they are sampled after the verdict. */
  crossSections: CrossSectionEvidence[];
}

export interface ReportInput {
  spec: AcceptanceSpec;
  delivery: DeliveryFacts;
  measured: MeasuredDelivery;
  judged: JudgedRequirement[];
  inputs: Report['inputs'];
  command: string;
  /** Findings about the input from before the measurement, such as converted survey points. */
  notes: readonly Finding[];
  /** Length of the sections of the route, metres; 100 where left out. */
  sectionMetres?: number | null;
}

/** Length of a section where the user gives none, metres. */
const SECTION_METRES = 100;

const RECOUNT = fact('header-recount', null);

/** The report of a run, from its verdicts and facts; every output is made from this report. */
export function buildReport(input: ReportInput): Report {
  const stations = stationsOf(input.delivery);
  const report = plainReport(input);
  if (!stations) return report;
  const { route } = input.delivery;
  const sectionMetres = input.sectionMetres ?? SECTION_METRES;
  return {
    ...withStations(withSeries(report, input.judged, stations, sectionMetres), stations),
    stationing: stationingLines(stations, route, sectionMetres),
    ...(route ? { sections: routeSections(input.judged, stations, sectionMetres, isComplete(input.delivery)) } : {}),
  };
}

/** The report with the values of each requirement along the route as charts. */
function withSeries(
  report: Report,
  judged: readonly JudgedRequirement[],
  stations: Stations,
  sectionMetres: number,
): Report {
  return {
    ...report,
    requirements: report.requirements.map((requirement, i) => ({
      ...requirement,
      series: [...requirement.series, ...routeSeries(judged[i].verdict, stations, sectionMetres)],
    })),
  };
}

/** Whether all points of all files were read. */
function isComplete({ sample, files }: DeliveryFacts): boolean {
  return sample === null && files.every(({ fault }) => fault === null);
}

/** The report without stations. */
function plainReport({ spec, delivery, measured, judged, inputs, command, notes }: ReportInput): Report {
  const { facts } = measured;
  const tally = facts.getOrNull(POINT_COUNTS) ?? [];
  const files = delivery.files.map(fileResult);
  const { overview, labels } = overviewOf(facts, delivery);
  const recounts = facts.has(RECOUNT) ? facts.getOrNull(RECOUNT) : null;
  const internal = internalErrors(judged, delivery, measured);
  const contradicting = contradictions(delivery);
  return {
    report: '1',
    verdict: overall(judged, delivery, internal.length > 0 || contradicting.length > 0),
    tool: { name: 'cloudassay', version: toolVersion(), command },
    spec: { title: spec.title, sha256: spec.sha256, file: spec.file },
    inputs,
    delivery: {
      files: files.length,
      points: tally.reduce((sum, row) => sum + row.points, 0),
      bytes: files.reduce((sum, file) => sum + file.bytes, 0),
      extent: extentOf(tally),
      captured: capturedDates(delivery.files, recounts),
      written: writtenDates(delivery.files),
      crs: crsOf(delivery),
      passesBy: passRuleWords(delivery.passRule),
      unreadable: files.filter((file) => file.fault !== null).length,
      ...labels,
    },
    requirements: judged.map(requirementResult),
    files,
    passes: delivery.passes.map(({ key, points }) => ({ pass: passLabel(delivery, key), points })),
    passPairs: firstOf(judged, (verdict) => verdict.passPairs),
    surveyPoints: mergeSurveyLines(judged.map(({ verdict }) => verdict.surveyPoints ?? [])),
    overview,
    zones: delivery.zones.map(({ name, polygons }) => ({
      name,
      polygons: polygons.map(({ outer, holes }) => ({ outer: [...outer], holes: holes.map((hole) => [...hole]) })),
    })),
    findings: [...internal.map(internalFinding), ...contradicting, ...findingsOf(delivery, tally), ...notes],
  };
}

/**
 * The internal errors of the run, each once: those of requirements, of files that could not be read because of one, and of the
 * measurements that the report itself needs.
 */
export function internalErrors(
  judged: readonly JudgedRequirement[],
  { files }: DeliveryFacts,
  { facts }: MeasuredDelivery,
): FaultFacts[] {
  const found = [
    ...judged.map(({ verdict }) => verdict.internalError ?? null),
    ...files.map((file) => file.faultFacts),
    ...[POINT_COUNTS, ...requestList(overviewRequests(files))].map((request) => facts.failureOf(request)),
  ];
  const unique = new Map<string, FaultFacts>();
  for (const facts of found) if (facts !== null && isInternalError(facts)) unique.set(Fault.sentence(facts), facts);
  return [...unique.values()];
}

function internalFinding(facts: FaultFacts): Finding {
  return { severity: 'error', code: INTERNAL_ERROR, text: Fault.sentence(facts) };
}

/**
 * The verdict on the delivery: rejected when a mandatory requirement fails; accepted when no mandatory requirement fails or is
 * undetermined, every file was read to the end, no sample was taken, no files contradict each other and there was no
 * internal error; otherwise undetermined.
 */
function overall(judged: JudgedRequirement[], delivery: DeliveryFacts, failed: boolean): Report['verdict'] {
  const mandatory = judged
    .filter(({ requirement }) => requirement.level === 'mandatory')
    .map(({ verdict }) => verdict.state);
  if (mandatory.includes('fail')) return 'rejected';
  if (delivery.sample !== null || failed) return 'undetermined';
  if (mandatory.includes('undetermined') || delivery.files.some((file) => file.fault !== null)) return 'undetermined';
  return 'accepted';
}

function requirementResult({ requirement, check, verdict, crossSections }: JudgedRequirement): RequirementResult {
  const figures = { ...verdict.limits, ...verdict.measured };
  return {
    id: requirement.id,
    check: check.id,
    title: check.title,
    why: check.why,
    level: requirement.level,
    decision: requirement.decision,
    zone: requirement.zone ?? null,
    verdict: verdict.state,
    summary: verdict.summary,
    measured: valuesOf(verdict.measured),
    limits: valuesOf(verdict.limits),
    senses: declared(verdict.limits, check, ({ limit }) => limit?.sense),
    labels: declared(figures, check, ({ label }) => label),
    units: Object.fromEntries(Object.entries(figures).map(([name, { unit }]) => [name, unit])),
    quality: check.quality ?? null,
    advice: verdict.advice,
    causes: (verdict.causes ?? []).map(({ rule, title, text, figures }) => ({
      rule,
      title,
      text,
      figures: Object.entries(figures).map(([name, { value, unit }]) => ({ name, value, unit })),
    })),
    ...(verdict.statement ? { statement: verdict.statement } : {}),
    ...evidenceOf(verdict, crossSections),
  };
}

/** What the check declares of each figure in a list: its label, or the side of its limit that is good. */
function declared<T>(
  figures: Record<string, Figure>,
  { metrics }: AnyCheck,
  pick: (metric: Metric) => T | undefined,
): Record<string, T> {
  const known = Object.keys(figures).flatMap((name) => {
    const value = metrics[name] && pick(metrics[name]);
    return value === undefined ? [] : [[name, value] as const];
  });
  return Object.fromEntries(known);
}

function valuesOf(figures: Record<string, Figure>): Record<string, number | null> {
  return Object.fromEntries(Object.entries(figures).map(([name, { value }]) => [name, value]));
}

/** The lines of the first requirement that has any: others may ask for the same comparison with other limits. */
function firstOf<T>(judged: JudgedRequirement[], pick: (verdict: Verdict) => T[] | undefined): T[] {
  return judged.map(({ verdict }) => pick(verdict) ?? []).find((lines) => lines.length > 0) ?? [];
}

function fileResult(file: DeliveredFile): FileResult {
  const { name, bytes, format, header, fault } = file;
  return {
    file: name,
    bytes,
    packing: format,
    version: header ? `${header.versionMajor}.${header.versionMinor}` : null,
    pointFormat: header?.pointFormat ?? null,
    points: header?.pointCount ?? 0,
    ...(file.sampled ? { read: file.sampled.points } : {}),
    extent: header && header.pointCount > 0 ? headerExtent(file) : null,
    fault,
    ...(file.damage.length > 0 ? { leftOut: damagedPoints(file) } : {}),
  };
}

/** Extent that the header states, world metres: [minX, minY, minZ, maxX, maxY, maxZ]. */
function headerExtent({ header, horizontalUnit, heightUnit }: DeliveredFile): number[] {
  const units = [horizontalUnit, horizontalUnit, heightUnit];
  return [...header!.min.map((v, k) => v * units[k]), ...header!.max.map((v, k) => v * units[k])];
}

function extentOf(tally: TallyRow[]): number[] | null {
  const lows = [0, 1, 2].map((axis) => tally.reduce((low, row) => Math.min(low, row.box[axis]), Infinity));
  const highs = [3, 4, 5].map((axis) => tally.reduce((high, row) => Math.max(high, row.box[axis]), -Infinity));
  return Number.isFinite(lows[0]) ? [...lows, ...highs].map((quanta) => quanta / QUANTA_PER_METRE) : null;
}

function crsOf({ files, declaredCrs }: DeliveryFacts): Report['delivery']['crs'] {
  const found = agreedSystem(files, declaredCrs).file?.crs;
  return {
    horizontal: codeOrName(found?.horizontal) ?? declaredCrs.horizontal,
    vertical: codeOrName(found?.vertical) ?? declaredCrs.vertical,
    unit: found?.horizontal?.unit.name ?? declaredCrs.unit,
    metresPerUnit: found?.horizontal?.unit.metres ?? null,
    wkt: found ? horizontalWkt(found) : null,
  };
}

function findingsOf({ files, sample }: DeliveryFacts, tally: TallyRow[]): Finding[] {
  const findings: Finding[] = [];
  if (sample !== null) {
    findings.push({
      severity: 'warning',
      code: 'quick-look',
      text: `Only ${Math.round(sample * 1000) / 10} % of the points were read (--sample): this is a quick look, not a test. At least one chunk of a LAZ file is read, and the first level of COPC. Mean densities are scaled to all points; the density map and all other figures are those of the points read.`,
    });
  }
  for (const file of files) {
    for (const one of damageFindings(file)) findings.push(one);
    if (file.fault !== null && !isOnlyDamaged(file) && !isInternalError(file.faultFacts))
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
