import type { NumberMarks } from './numbers.js';

/**
 * Rows as CSV that a spreadsheet of the reader's language takes: a semicolon between fields where the comma is the decimal
 * mark, else a comma. Numbers as `isNumber` tells them lose the marks between thousands; text that would run as a formula
 * gets an apostrophe in front; fields are quoted as RFC 4180 asks.
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

/** The number a cell shows, without marks between thousands and without a plus sign; null where it is no plain number. */
export function plainNumber(cell: string, marks: NumberMarks): string | null {
  const bare = marks.group === '' ? cell : cell.split(marks.group).join('');
  const pattern = marks.decimal === ',' ? /^[+-]?\d+(?:,\d+)?$/ : /^[+-]?\d+(?:\.\d+)?$/;
  return pattern.test(bare) ? bare.replace('+', '') : null;
}
