import { report as reportShape } from '../report-shape/report.js';
import type { ItemShape, KeyShape, ObjectShape } from '../report-shape/shape.js';
import type { Report } from './model.js';
import { printableJson } from './printable.js';

/**
 * The text of report.json, with a line end at the end. Equal reports give equal bytes: keys are in the order of the
 * declaration, names of figures in alphabetical order, numbers as `tidyNumber` returns them; the indent is two spaces, and
 * a list without objects or lists in it is on one line.
 */
export function reportJson(report: Report): string {
  return jsonText(report, reportShape);
}

/** JSON text of any value in the order of its declaration, laid out as report.json is. */
export function jsonText(value: unknown, shape: ObjectShape): string {
  return `${print(canonical(value, shape), '')}\n`;
}

function print(value: unknown, indent: string): string {
  if (value === null || typeof value !== 'object') return printableJson(JSON.stringify(value));
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
 * A number as the outputs of the report print it: rounded to 1e-7 (a tenth of a micrometre in metres), which is far finer
 * than any survey and coarser than the rounding errors of floating point. A number below 0.001 keeps four significant
 * digits instead, so that a small share does not become zero. Integers, and numbers above 9e8, are not rounded.
 * @returns the number; null for one that is not finite, and 0 for -0
 */
export function tidyNumber(value: number): number | null {
  if (!Number.isFinite(value)) return null;
  if (Number.isInteger(value)) return value === 0 ? 0 : value;
  const size = Math.abs(value);
  if (size < 1e-3) return Number(value.toPrecision(4));
  if (size > 9e8) return value;
  return Math.round(value * 1e7) / 1e7;
}

type AnyShape = ObjectShape | KeyShape | ItemShape;

/** The value with tidy numbers and its keys in order: those that are declared, then others in alphabetical order. */
function canonical(value: unknown, shape: AnyShape | undefined): unknown {
  if (typeof value === 'number') return tidyNumber(value);
  if (shape?.type === 'reference') return canonical(value, shape.of);
  if (Array.isArray(value)) {
    const of = shape?.type === 'list' ? shape.of : undefined;
    return value.map((item) => canonical(item, of));
  }
  if (value === null || typeof value !== 'object') return value;
  const shapes: Readonly<Record<string, KeyShape>> = shape?.type === 'object' ? shape.keys : {};
  const given = value as Record<string, unknown>;
  const others = Object.keys(given)
    .filter((key) => !Object.hasOwn(shapes, key))
    .sort();
  return Object.fromEntries(
    [...Object.keys(shapes), ...others]
      .filter((key) => given[key] !== undefined)
      .map((key) => [key, canonical(given[key], shapes[key])]),
  );
}
