import { meaning, unitWords } from './describe.js';
import type { ItemShape, KeyShape, ObjectShape } from './shape.js';

/**
 * The lines of a reference of an object and of everything in it, as Markdown: a heading and a table of keys for each object,
 * the outer one before those in it, named ones once.
 * @param title heading of the outer object
 */
export function referenceLines(shape: ObjectShape, title: string): string[] {
  const lines: string[] = [];
  const seen = new Set<string>();
  const write = (object: ObjectShape, heading: string): void => {
    if (seen.has(heading)) return;
    seen.add(heading);
    const inside = Object.entries(object.keys).flatMap(([key, value]) => {
      const found = objectIn(value);
      return found ? [{ found, heading: headingOf(found, heading === title ? key : `${heading}.${key}`) }] : [];
    });
    const rows = Object.entries(object.keys).map(([key, value]) => {
      const found = objectIn(value);
      const link = found && headingOf(found, heading === title ? key : `${heading}.${key}`);
      return `| \`${key}\` | ${typeWords(value, link)} | ${unitWords(value)} | ${cell(meaning(value))} |`;
    });
    lines.push(`## ${heading}`, '', object.means, '');
    lines.push('| key | type | unit | meaning |', '| --- | --- | --- | --- |', ...rows, '');
    for (const { found, heading: next } of inside) write(found, next);
  };
  write(shape, title);
  return lines;
}

/** The object under a key, in a list under a key, or in a list of such lists. */
function objectIn(shape: KeyShape | ItemShape | ObjectShape): ObjectShape | null {
  if (shape.type === 'object') return shape;
  if (shape.type === 'reference' || shape.type === 'list' || shape.type === 'map') return objectIn(shape.of);
  return null;
}

function headingOf({ name }: ObjectShape, path: string): string {
  return name ?? path;
}

/** Type of a value in words; `heading` is where the object in it is described. */
function typeWords(shape: KeyShape | ItemShape | ObjectShape, heading: string | null): string {
  switch (shape.type) {
    case 'string':
      return shape.encoding ? `text (${shape.encoding})` : 'text';
    case 'constant':
      return `"${shape.value}"`;
    case 'choice':
      return shape.words.map((word) => `"${word}"`).join(', ');
    case 'boolean':
      return 'true or false';
    case 'number':
      return shape.above === undefined && shape.min === undefined
        ? 'number'
        : `number, ${shape.above === undefined ? `at least ${shape.min}` : `more than ${shape.above}`}`;
    case 'integer':
      return shape.max === undefined
        ? `whole number, at least ${shape.min}`
        : `whole number, ${shape.min} to ${shape.max}`;
    case 'field':
      return 'text, number or null';
    case 'list':
      return `list${shape.entries ? ` of ${shape.entries.length}` : ''}: ${typeWords(shape.of, heading)}`;
    case 'map':
      return `by name: ${typeWords(shape.of, heading)}`;
    case 'reference':
    case 'object':
      return `object [${heading}](#${anchorOf(heading ?? '')})`;
  }
}

/** Anchor of a heading, as Markdown pages on code hosts have it: small letters, without dots. */
function anchorOf(heading: string): string {
  return heading.toLowerCase().replaceAll('.', '');
}

function cell(text: string): string {
  return text.replaceAll('|', '\\|');
}
