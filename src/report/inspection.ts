import { clean } from './printable.js';
import { bytesInWords } from './quantity.js';
import { groupDigits } from './wording.js';

/** Facts of one cloud, for `inspect`. Coordinates are in the unit of the file, or in metres where the name says so. */
export interface Inspection {
  file: string;
  bytes: number;
  packing: 'LAS' | 'LAZ' | 'COPC';
  version: string;
  pointFormat: number;
  recordLength: number;
  points: number;
  pointsByReturn: number[];
  systemIdentifier: string;
  generatingSoftware: string;
  creation: string | null;
  scale: number[];
  offset: number[];
  min: number[];
  max: number[];
  crs: {
    horizontal: { name: string; epsg: number | null; unit: string } | null;
    vertical: { name: string; epsg: number | null; unit: string } | null;
    problems: string[];
  };
  records: { userId: string; recordId: number; description: string; length: number; extended: boolean }[];
  extraBytes: { name: string; type: string }[];
  formatIssues: string[];
  /** Facts counted from the points; null when they were not read. */
  contents: {
    points: number;
    withheld: number;
    extentMetres: number[] | null;
    passes: { pointSourceId: number; points: number }[];
    classes: { class: number; points: number }[];
    returns: { returns: number; points: number }[];
    intensity: [number, number] | null;
    gpsTime: [number, number] | null;
  } | null;
}

const LISTED = 12;

/** The facts as text for a terminal, one fact a line. */
export function inspectionText(i: Inspection): string {
  const lines = [
    '',
    `${clean(i.file)}: ${i.packing}, LAS ${i.version}, point format ${i.pointFormat}, ${count(i.points)} points, ${bytesInWords(i.bytes)}`,
    ...row(
      'record',
      `${i.recordLength} bytes${i.extraBytes.length > 0 ? `, extra: ${i.extraBytes.map((e) => clean(e.name)).join(', ')}` : ''}`,
    ),
    ...row(
      'written by',
      clean([i.generatingSoftware, i.systemIdentifier].filter((t) => t !== '').join(', ')) || 'not stated',
    ),
    ...row('created', i.creation ?? 'not stated'),
    ...row('horizontal', system(i.crs.horizontal)),
    ...row('vertical', system(i.crs.vertical)),
    ...row('scale', i.scale.join(', ')),
    ...row('offset', i.offset.join(', ')),
    ...row('min X Y Z', i.min.map((v, k) => v.toFixed(digits(i.scale[k]))).join('  ')),
    ...row('max X Y Z', i.max.map((v, k) => v.toFixed(digits(i.scale[k]))).join('  ')),
    ...row(
      'records',
      some(i.records.map((r) => `${clean(r.userId)} ${r.recordId}${r.extended ? ' (extended)' : ''}`)) || 'none',
    ),
    ...contents(i.contents),
  ];
  for (const problem of [...i.crs.problems, ...i.formatIssues])
    for (const line of row('problem', clean(problem))) lines.push(line);
  return `${lines.join('\n')}\n`;
}

function contents(c: Inspection['contents']): string[] {
  if (!c) return [];
  return [
    ...row('points read', `${count(c.points)}, withheld ${count(c.withheld)}`),
    ...row('passes', some(c.passes.map((p) => `source ${p.pointSourceId}: ${count(p.points)}`))),
    ...row('classes', some(c.classes.map((p) => `${p.class}: ${count(p.points)}`))),
    ...row('returns', some(c.returns.map((p) => `of ${p.returns}: ${count(p.points)}`))),
    ...row('intensity', c.intensity ? `${c.intensity[0]} to ${c.intensity[1]}` : 'none'),
    ...row('GPS time', c.gpsTime ? `${c.gpsTime[0].toFixed(3)} to ${c.gpsTime[1].toFixed(3)} s` : 'none'),
  ];
}

function row(name: string, text: string): string[] {
  return [`  ${name.padEnd(12)} ${text}`];
}

function some(parts: string[]): string {
  const rest = parts.length - LISTED;
  return parts.slice(0, LISTED).join(', ') + (rest > 0 ? ` and ${rest} more` : '');
}

function system(part: { name: string; epsg: number | null; unit: string } | null): string {
  return part
    ? `${clean(part.name)}${part.epsg === null ? '' : ` (EPSG:${part.epsg})`}, ${clean(part.unit)}`
    : 'not stated';
}

function count(value: number): string {
  return groupDigits(String(value));
}

function digits(step: number): number {
  return Math.min(9, Math.max(0, Math.ceil(-Math.log10(Math.abs(step) || 1) - 1e-9)));
}
