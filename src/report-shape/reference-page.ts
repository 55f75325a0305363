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
    const keys = Object.entries(object.keys).map(([key, value]) => {
      const inner = objectIn(value);
      const path = heading === title ? key : `${heading}.${key}`;
      return { key, value, inner, target: inner?.name ?? path };
    });
    const rows = keys.map(
      ({ key, value, target }) =>
        `| \`${key}\` | ${typeWords(value, target)} | ${unitWords(value)} | ${cell(meaning(value))} |`,
    );
    lines.push(`## ${heading}`, '', object.means, '');
    lines.push('| key | type | unit | meaning |', '| --- | --- | --- | --- |', ...rows, '');
    for (const { inner, target } of keys) if (inner) write(inner, target);
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

/** Type of a value in words; `target` is the heading of the object in it. */
function typeWords(shape: KeyShape | ItemShape | ObjectShape, target: string): string {
  const words = plainTypeWords(shape, target);
  return 'nullWhen' in shape && shape.nullWhen ? `${words} or null` : words;
}

function plainTypeWords(shape: KeyShape | ItemShape | ObjectShape, target: string): string {
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
      if (shape.above !== undefined) return `number, more than ${shape.above}`;
      return shape.min === undefined ? 'number' : `number, at least ${shape.min}`;
    case 'integer':
      return `whole number, ${shape.max === undefined ? `at least ${shape.min}` : `${shape.min} to ${shape.max}`}`;
    case 'field':
      return 'text, number or null';
    case 'list':
      return `list${shape.entries ? ` of ${shape.entries.length}` : ''} (${typeWords(shape.of, target)})`;
    case 'map':
      return `by name (${typeWords(shape.of, target)})`;
    case 'reference':
    case 'object':
      return `object [${target}](#${anchorOf(target)})`;
  }
}

/** Anchor of a heading, as Markdown pages on code hosts have it: small letters, without dots. */
function anchorOf(heading: string): string {
  return heading.toLowerCase().replaceAll('.', '');
}

function cell(text: string): string {
  return text.replaceAll('|', '\\|');
}
