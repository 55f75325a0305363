import type { NumberMarks } from './numbers.js';

/**
 * Rows as CSV text for a spreadsheet in the reader's language: fields are separated by semicolons where the comma is the
 * decimal mark, otherwise by commas. Numbers lose the marks between thousands. Text that would run as a formula gets an
 * apostrophe in front. Fields are quoted as RFC 4180 requires.
 */
export function csvText(rows: readonly (readonly string[])[], marks: NumberMarks): string {
  const separator = marks.decimal === ',' ? ';' : ',';
  return rows.map((row) => `${row.map((cell) => csvField(cell, separator, marks)).join(separator)}\r\n`).join('');
}

function csvField(cell: string, separator: string, marks: NumberMarks): string {
  const number = plainNumber(cell, marks);
  if (number !== null) return number;
  const text = /^[=+\-@\t\r]/.test(cell) ? `'${cell}` : cell;
  return text.includes(separator) || /["\r\n]/.test(text) ? `"${text.replace(/"/g, '""')}"` : text;
}

/** The number a cell shows, without marks between thousands and without a plus sign; null where it does not show a single number. */
export function plainNumber(cell: string, marks: NumberMarks): string | null {
  const bare = marks.group === '' ? cell : cell.split(marks.group).join('');
  const pattern = marks.decimal === ',' ? /^[+-]?\d+(?:,\d+)?$/ : /^[+-]?\d+(?:\.\d+)?$/;
  return pattern.test(bare) ? bare.replace('+', '') : null;
}
