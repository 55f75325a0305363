import type { KeyShape, ObjectShape } from '../report-shape/shape.js';

/** A value of a CSV field; null and undefined are written as an empty field. */
export type CsvValue = string | number | boolean | null | undefined;

/** Columns of a CSV table whose lines are objects of the report, and the fields of one such object. */
export interface CsvColumns {
  names: string[];
  /** The fields of an object, in the order of `names`. */
  fields(object: object): CsvValue[];
}

/**
 * The columns of an object: one for each key with a bare value, in the order of the declaration, and one for each entry of a list
 * of fixed length. Names are the key in snake case, with the entry after it, unless the declaration names them (`csv`).
 * @param first keys whose columns come first
 * @throws RangeError when a declaration names another number of columns than it has values
 */
export function csvColumns(shape: ObjectShape, first: readonly string[] = []): CsvColumns {
  const keys = [...new Set([...first, ...Object.keys(shape.keys)])];
  const columns = keys.flatMap((key) => columnsOfKey(key, shape.keys[key]));
  return {
    names: columns.map(({ name }) => name),
    fields: (object) => columns.map(({ read }) => read(object as Record<string, unknown>)),
  };
}

interface Column {
  name: string;
  read(object: Record<string, unknown>): CsvValue;
}

function columnsOfKey(key: string, shape: KeyShape): Column[] {
  const { type, csv } = shape;
  if (csv?.length === 0 || type === 'object' || type === 'reference' || type === 'map') return [];
  if (type !== 'list') return [{ name: csv?.[0] ?? snakeCase(key), read: (object) => object[key] as CsvValue }];
  const { entries } = shape;
  if (!entries) return [];
  if (csv && csv.length !== entries.length)
    throw new RangeError(`${key} names ${csv.length} columns for ${entries.length} entries`);
  return entries.map((entry, i) => ({
    name: csv?.[i] ?? `${snakeCase(key)}_${snakeCase(entry)}`,
    read: (object) => (object[key] as CsvValue[] | null | undefined)?.[i],
  }));
}

function snakeCase(key: string): string {
  return key.replace(/[A-Z]/g, (letter) => `_${letter.toLowerCase()}`);
}
