import { groupDigits } from './wording.js';

/** What is shown where a number was looked for and not found. */
export const NO_VALUE = '–';

interface Scale {
  factor: number;
  decimals: number;
  label: string;
}

/** How a unit is shown. Lengths below a metre read in millimetres, shares in percent. */
export function scaleFor(unit: string, magnitude: number): Scale {
  switch (unit) {
    case 'm':
      return Math.abs(magnitude) < 1
        ? { factor: 1000, decimals: 1, label: 'mm' }
        : { factor: 1, decimals: 3, label: 'm' };
    case 'm2':
      return { factor: 1, decimals: 2, label: 'm²' };
    case 'points/m2':
      return { factor: 1, decimals: 1, label: 'points/m²' };
    case 'share':
      return { factor: 100, decimals: 2, label: '%' };
    case 'ratio':
      return { factor: 1, decimals: 4, label: '' };
    case 'count':
      return { factor: 1, decimals: 0, label: '' };
    case 'degree':
      return { factor: 1, decimals: 3, label: '°' };
    case 's':
      return { factor: 1, decimals: 2, label: 's' };
    case 'km/h':
      return { factor: 1, decimals: 1, label: 'km/h' };
    case 'mm/min':
      return { factor: 1, decimals: 2, label: 'mm/min' };
    default:
      return { factor: 1, decimals: 3, label: unit };
  }
}

/** A number with its unit in words: `12.4 mm`, `1.204 m`, `98.20 %`, `1,204`. `null` reads "no value". */
export function quantity(value: number | null | undefined, unit: string): string {
  if (value === null || value === undefined || Number.isNaN(value)) return NO_VALUE;
  const scale = scaleFor(unit, value);
  const text = decimal(value * scale.factor, scale.decimals);
  return withUnit(value !== 0 && /^[0.]+$/.test(text) ? tiny(value * scale.factor) : text, scale.label);
}

/**
 * A measured figure and its limit, with as many decimals as it takes to tell them apart: 0.97996 against 0.98 must not
 * read "98.00 % against 98.00 %".
 */
export function besideLimit(
  measured: number | null,
  limit: number | null,
  unit: string,
): { measured: string; limit: string } {
  const plain = { measured: quantity(measured, unit), limit: quantity(limit, unit) };
  if (measured === null || limit === null || measured === limit || plain.measured !== plain.limit) return plain;
  const scale = scaleFor(unit, limit);
  for (let decimals = scale.decimals + 1; decimals <= 12; decimals++) {
    const a = decimal(measured * scale.factor, decimals);
    const b = decimal(limit * scale.factor, decimals);
    if (a !== b) return { measured: withUnit(a, scale.label), limit: withUnit(b, scale.label) };
  }
  return plain;
}

/** One unit and one number of decimals for a whole column, so that its numbers can be compared down the page. */
export function columnScale(values: readonly (number | null | undefined)[], unit: string): Scale {
  let largest = 0;
  let whole = true;
  for (const value of values) {
    if (typeof value !== 'number') continue;
    largest = Math.max(largest, Math.abs(value));
    if (!Number.isInteger(value)) whole = false;
  }
  const scale = scaleFor(unit, largest);
  return unit === '' && whole ? { ...scale, decimals: 0 } : scale;
}

/** Number in a column of the given scale; a plus sign in front of positive ones when `signed`. */
export function inColumn(value: number | null | undefined, scale: Scale, signed = false): string {
  if (value === null || value === undefined || Number.isNaN(value)) return NO_VALUE;
  const text = decimal(value * scale.factor, scale.decimals);
  return signed && value > 0 && !/^[0.]+$/.test(text) ? `+${text}` : text;
}

/** Fixed decimals, thousands grouped, never "-0.0". */
export function decimal(value: number, decimals: number): string {
  if (!Number.isFinite(value)) return value > 0 ? 'infinite' : Number.isNaN(value) ? NO_VALUE : '-infinite';
  const text = value.toFixed(decimals);
  if (text.includes('e')) return text;
  return groupDigits(/^-[0.]+$/.test(text) ? text.slice(1) : text);
}

/** A coordinate in metres as surveyors write it: fixed decimals, no grouping. */
export function coordinate(value: number, decimals = 2): string {
  return value.toFixed(decimals);
}

/** A plan area as surveyors say it: square metres, hectares above one, square kilometres above one. */
export function areaInWords(squareMetres: number): string {
  if (squareMetres < 10_000) return `${decimal(squareMetres, 0)} m²`;
  return squareMetres < 1e6 ? `${decimal(squareMetres / 1e4, 2)} ha` : `${decimal(squareMetres / 1e6, 2)} km²`;
}

/** Bytes in decimal units: `1.9 GB`. */
export function bytesInWords(bytes: number): string {
  const units = ['bytes', 'kB', 'MB', 'GB', 'TB', 'PB'];
  let value = bytes;
  let unit = 0;
  while (value >= 999.95 && unit < units.length - 1) {
    value /= 1000;
    unit++;
  }
  return unit === 0 ? `${bytes} bytes` : `${value.toFixed(1)} ${units[unit]}`;
}

/** Two significant digits of a number too small for its usual decimals: what is not nothing must not read as nothing. */
function tiny(value: number): string {
  const decimals = 1 - Math.floor(Math.log10(Math.abs(value)));
  return decimals > 12 ? value.toExponential(1) : decimal(value, decimals);
}

function withUnit(number: string, label: string): string {
  if (label === '') return number;
  return label === '°' ? `${number}${label}` : `${number} ${label}`;
}
