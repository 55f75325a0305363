import type { FixedUnit, ItemShape, KeyShape, ObjectShape } from './shape.js';

const UNIT_WORDS: Record<FixedUnit, string> = {
  m: 'metres',
  m2: 'square metres',
  'm/m': 'metres per metre',
  'm/unit': 'metres per unit',
  count: 'count',
  share: 'share, 0 to 1',
  bytes: 'bytes',
  none: '',
};

/** Unit of the numbers under a key or in a list, in words; empty where there are none or they have no unit. */
export function unitWords(shape: KeyShape | ItemShape | ObjectShape): string {
  if (shape.type === 'list' || shape.type === 'map') return unitWords(shape.of);
  if ('unitIn' in shape && shape.unitIn !== undefined) return `see \`${shape.unitIn}\``;
  return 'unit' in shape && shape.unit !== undefined ? UNIT_WORDS[shape.unit] : '';
}

/** What a key means, without its unit: the sentence, the entries of a list, and when the value is null or absent. */
export function meaning(shape: KeyShape): string {
  const sentences = [shape.means];
  if (shape.type === 'list' && shape.entries) sentences.push(`Entries: ${shape.entries.join(', ')}.`);
  if (shape.nullWhen) sentences.push(`Null when ${shape.nullWhen}.`);
  const entryNull = nullEntry(shape);
  if (entryNull) sentences.push(`An entry is null when ${entryNull}.`);
  if (shape.absentWhen) sentences.push(`Absent when ${shape.absentWhen}.`);
  return sentences.join(' ');
}

/** What a key means, with its unit, as the schema describes it. */
export function describe(shape: KeyShape): string {
  const unit = unitWords(shape);
  return unit === '' ? meaning(shape) : `${meaning(shape)} Unit: ${unit}.`;
}

function nullEntry(shape: KeyShape): string | undefined {
  if (shape.type !== 'list' && shape.type !== 'map') return undefined;
  return shape.of.type === 'object' ? undefined : shape.of.nullWhen;
}
