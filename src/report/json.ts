import type { Report } from './model.js';

/** Order of the keys of report.json, as in the model; keys not named here (figure names) follow in alphabetical order. */
const KEY_ORDER = [
  'report',
  'verdict',
  'tool',
  'spec',
  'inputs',
  'delivery',
  'requirements',
  'files',
  'passes',
  'passPairs',
  'surveyPoints',
  'overview',
  'zones',
  'findings',
] as const;

/** Objects whose keys are figure names: always alphabetical. */
const FIGURE_MAPS = new Set(['measured', 'limits', 'senses', 'units']);

const GRID_ORDER = [
  'title',
  'unit',
  'cell',
  'mergedFrom',
  'signed',
  'limit',
  'sense',
  'cells',
  'runs',
  'step',
  'bytes',
  'data',
] as const;

const OBJECT_ORDERS: Record<string, readonly string[]> = {
  '': KEY_ORDER,
  tool: ['name', 'version', 'command'],
  inputs: ['role', 'file', 'sha256'],
  spec: ['title', 'sha256', 'file'],
  delivery: [
    'files',
    'points',
    'bytes',
    'extent',
    'area',
    'captured',
    'written',
    'crs',
    'passesBy',
    'unreadable',
    'classes',
    'returns',
    'pulses',
  ],
  captured: ['from', 'to'],
  written: ['from', 'to'],
  crs: ['horizontal', 'vertical', 'unit', 'metresPerUnit', 'wkt'],
  classes: ['class', 'points'],
  returns: ['number', 'points'],
  pulses: ['returns', 'points'],
  requirements: [
    'id',
    'check',
    'title',
    'why',
    'level',
    'decision',
    'zone',
    'verdict',
    'summary',
    'measured',
    'limits',
    'senses',
    'units',
    'quality',
    'advice',
    'causes',
    'statement',
    'locations',
    'tables',
    'histograms',
    'residuals',
    'series',
    'grids',
    'sections',
  ],
  causes: ['rule', 'title', 'text', 'figures'],
  figures: ['name', 'value', 'unit'],
  statement: [
    'standard',
    'title',
    'sentence',
    'claimed',
    'class',
    'count',
    'spread',
    'departures',
    'remarks',
    'sources',
  ],
  count: ['found', 'asked', 'met'],
  spread: ['leastShare', 'askedShare', 'spacing', 'askedSpacing', 'met'],
  sources: ['what', 'source', 'mark'],
  locations: ['x', 'y', 'z', 'file', 'pass', 'value', 'unit', 'note'],
  tables: ['title', 'columns', 'rows'],
  columns: ['key', 'title', 'unit'],
  histograms: ['title', 'unit', 'edges', 'counts', 'normal', 'limit', 'sense'],
  normal: ['mean', 'std', 'nmad'],
  residuals: ['title', 'unit', 'items', 'mean', 'rms', 'interval', 'limit'],
  items: ['label', 'value', 'group'],
  series: ['title', 'unit', 'along', 'lines', 'limit'],
  along: ['title', 'unit'],
  lines: ['name', 'x', 'y'],
  grids: GRID_ORDER,
  density: GRID_ORDER,
  overview: ['density', 'passes', 'passSets'],
  sections: ['title', 'surveyPoint', 'x', 'y', 'z', 'reach', 'plane', 'passes', 'found', 'points', 'data'],
  plane: ['height', 'slopeX', 'slopeY'],
  zones: ['name', 'polygons'],
  polygons: ['outer', 'holes'],
  files: ['file', 'bytes', 'packing', 'version', 'pointFormat', 'points', 'extent', 'fault', 'leftOut'],
  passes: ['pass', ...GRID_ORDER, 'points'],
  passPairs: ['a', 'b', 'cells', 'meanDz', 'rmsDz', 'maxDz', 'shift', 'shiftStd', 'observable'],
  surveyPoints: ['id', 'role', 'x', 'y', 'z', 'dz', 'dx', 'dy', 'n', 'method', 'perPass', 'status'],
  perPass: ['pass', 'dz', 'n'],
  findings: ['severity', 'code', 'file', 'text', 'chunk'],
  chunk: ['number', 'firstPoint', 'points', 'firstByte', 'bytes', 'guard'],
};

/**
 * report.json: two-space indent, lists of bare values on one line, keys always in the same order, numbers tidied, so that
 * equal reports are equal bytes.
 */
export function reportJson(report: Report): string {
  return `${print(canonical(report, ''), '')}\n`;
}

function print(value: unknown, indent: string): string {
  if (value === null || typeof value !== 'object') return JSON.stringify(value);
  const inner = `${indent}  `;
  if (Array.isArray(value)) {
    if (value.every((item) => item === null || typeof item !== 'object'))
      return `[${value.map((item) => JSON.stringify(item)).join(', ')}]`;
    return `[\n${value.map((item) => inner + print(item, inner)).join(',\n')}\n${indent}]`;
  }
  const entries = Object.entries(value);
  if (entries.length === 0) return '{}';
  const lines = entries.map(([key, item]) => `${inner}${JSON.stringify(key)}: ${print(item, inner)}`);
  return `{\n${lines.join(',\n')}\n${indent}}`;
}

/**
 * A number as the report prints it: rounded to 1e-7 (a tenth of a micrometre in metres), far below what any survey can
 * tell and above the noise of floating point. Numbers below 0.001 keep four significant digits instead, so that a tiny
 * share never turns into zero; integers, and numbers too large to be rounded this way, stay as they are. A number that is not finite becomes null: nothing could be found.
 */
export function tidyNumber(value: number): number | null {
  if (!Number.isFinite(value)) return null;
  if (Number.isInteger(value)) return value === 0 ? 0 : value;
  const size = Math.abs(value);
  if (size < 1e-3) return Number(value.toPrecision(4));
  if (size > 9e8) return value;
  return Math.round(value * 1e7) / 1e7;
}

function canonical(value: unknown, key: string): unknown {
  if (typeof value === 'number') return tidyNumber(value);
  if (Array.isArray(value)) return value.map((item) => canonical(item, key));
  if (value === null || typeof value !== 'object') return value;
  const order = FIGURE_MAPS.has(key) ? [] : (OBJECT_ORDERS[key] ?? []);
  const present = Object.keys(value).filter((name) => (value as Record<string, unknown>)[name] !== undefined);
  const known = order.filter((name) => present.includes(name));
  const others = present.filter((name) => !order.includes(name)).sort();
  const out: [string, unknown][] = [];
  for (const name of [...known, ...others]) out.push([name, canonical((value as Record<string, unknown>)[name], name)]);
  return Object.fromEntries(out);
}
