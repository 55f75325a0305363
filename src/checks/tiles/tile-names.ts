import { Fault } from '../../fault.js';

/** Where a tile is said to be: its corner in the unit of the name, or its place in the grid. */
export type NamedTile = { by: 'coordinates'; x: number; y: number } | { by: 'place'; column: number; row: number };

/** More would make some names take long to compare. */
const STARS_MAX = 3;
const PLACEHOLDER = /\{(x|y|column|row)(?::(\d{1,2}))?\}|\*/g;

/**
 * A reader of tile names from a pattern such as "quay_{x}_{y}" or "{x:6}{y:7}": `{x}` and `{y}` stand for coordinates,
 * `{column}` and `{row}` for places in the grid, `*` for any text; a number behind the colon for so many digits. The
 * pattern is held against the last part of the path, without .las, .laz or .copc.laz unless the pattern has an ending.
 * The reader answers null for a name that does not fit.
 * @throws Fault spec-invalid for a pattern without a place
 */
export function tileNames(pattern: string): (path: string) => NamedTile | null {
  const keys: string[] = [];
  let expression = '';
  let at = 0;
  let stars = 0;
  for (const match of pattern.matchAll(PLACEHOLDER)) {
    const [text, key, digits] = match;
    expression += escaped(pattern.slice(at, match.index));
    at = match.index + text.length;
    if (text === '*') {
      expression += '.*?';
      stars++;
      continue;
    }
    keys.push(key);
    const number = digits ? `-?\\d{${digits}}` : '-?\\d+';
    expression += key === 'x' || key === 'y' ? `(${number}${digits ? '' : '(?:\\.\\d+)?'})` : `(${number})`;
  }
  const rest = pattern.slice(at);
  const sorted = [...keys].sort().join();
  if (
    (sorted !== 'x,y' && sorted !== 'column,row') ||
    stars > STARS_MAX ||
    /[{}]/.test(pattern.replace(PLACEHOLDER, ''))
  ) {
    throw new Fault({
      code: 'spec-invalid',
      where: 'tiling',
      what: `the name pattern ${pattern} does not say where a tile is`,
      expected: '{x} and {y}, or {column} and {row}, each once; * for other text, three times at most',
    });
  }
  const regExp = new RegExp(`^${expression}${escaped(rest)}$`);
  const hasEnding = /\.la[sz]$/i.test(pattern);
  return (path) => {
    const base = path.split('/').at(-1) ?? path;
    const found = regExp.exec(hasEnding ? base : base.replace(/(\.copc)?\.la[sz]$/i, ''));
    if (!found) return null;
    const value = (key: string) => Number(found[keys.indexOf(key) + 1]);
    return sorted === 'x,y'
      ? { by: 'coordinates', x: value('x'), y: value('y') }
      : { by: 'place', column: value('column'), row: value('row') };
  };
}

function escaped(text: string): string {
  return text.replace(/[.*+?^${}()|[\]\\/-]/g, '\\$&');
}
