import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { isPattern, patternMatcher, patternRoot } from '../../src/delivery/glob.js';

describe('patterns', () => {
  // The rules of POSIX.1-2017, Shell and Utilities, 2.13.3 (patterns used for file names); `**` is common practice.
  it.each([
    ['*.las', 'a.las', true],
    ['*.las', 'd/a.las', false],
    ['*.las', '.hidden.las', false],
    ['.*.las', '.hidden.las', true],
    ['?.las', 'ab.las', false],
    ['?.las', '.las', false],
    ['a?c', 'a/c', false],
    ['*.l.s', 'a.las', false],
    ['a+(1).las', 'a+(1).las', true],
    ['**/a.las', 'a.las', true],
    ['**/a.las', 'x/y/a.las', true],
    ['**/a.las', '.x/a.las', false],
    ['x/**/a.las', 'x/a.las', true],
    ['x/**', 'x/y/z.las', true],
    ['x/**', 'x', false],
    ['Ä?.las', 'Ä\u{1f30d}.las', true],
  ])('%s on %s: %s', (pattern, path, expected) => {
    expect(patternMatcher(pattern)(path)).toBe(expected);
  });

  it('of stars only within a name agree with a search written out by hand', () => {
    const letters = fc.string({ unit: fc.constantFrom('a', 'b', '.'), maxLength: 6 });
    fc.assert(
      fc.property(fc.array(letters, { minLength: 1, maxLength: 4 }), letters, (parts, tail) => {
        const name = `x${tail}`;
        const pieces = [`x${parts[0]}`, ...parts.slice(1)];
        let at = 0;
        let fits = name.startsWith(pieces[0]);
        pieces.forEach((piece, index) => {
          const next = name.indexOf(piece, at);
          if (next < 0 || (index === 0 && next > 0)) fits = false;
          at = next + piece.length;
        });
        const last = pieces[pieces.length - 1];
        if (pieces.length === 1) fits = name === last;
        else if (fits) {
          const rest = pieces.slice(0, -1).reduce((from, piece) => name.indexOf(piece, from) + piece.length, 0);
          fits = name.endsWith(last) && name.length - last.length >= rest;
        }
        expect(patternMatcher(pieces.join('*'))(name)).toBe(fits);
      }),
    );
  });

  it('take no exponential time', () => {
    const start = performance.now();
    expect(patternMatcher(`${'*'.repeat(60)}b`)('a'.repeat(200))).toBe(false);
    expect(performance.now() - start).toBeLessThan(1000);
  });

  it.each([
    ['stars in a name', `${'*a'.repeat(12)}*b`, 'a'.repeat(200)],
    ['stars for folders', `${'**/a/'.repeat(12)}b`, `${'a/'.repeat(60)}c`],
  ])('twelve %s take no time', (_, pattern, path) => {
    const start = performance.now();
    expect(patternMatcher(pattern)(path)).toBe(false);
    expect(performance.now() - start).toBeLessThan(1000);
  });

  it('of names and folders agree with a regular expression', () => {
    const name = fc.constantFrom('a', 'ab', '.a', 'b', 'ba');
    const part = fc.constantFrom('**', '*', 'a*', '?', '.*', 'b', '*a*');
    const path = fc.array(name, { minLength: 1, maxLength: 5 });
    fc.assert(
      fc.property(fc.array(part, { minLength: 1, maxLength: 5 }), path, (parts, names) => {
        const source = parts.map((p, i) => {
          if (p === '**') return i === parts.length - 1 ? '(?:(?!\\.)[^/]+/)*(?!\\.)[^/]+' : '(?:(?!\\.)[^/]+/)*';
          const text = p.replaceAll('.', '\\.').replaceAll('*', '[^/]*').replaceAll('?', '[^/]');
          return `${p.startsWith('.') ? '' : '(?!\\.)'}${text}${i === parts.length - 1 ? '' : '/'}`;
        });
        const expected = new RegExp(`^${source.join('')}$`).test(names.join('/'));
        expect(patternMatcher(parts.join('/'))(names.join('/'))).toBe(expected);
      }),
      { numRuns: 500, seed: 11 },
    );
  });

  it.each([
    ['a/b/c*/d', 'a/b'],
    ['*.las', ''],
    ['/*.las', '/'],
    ['/a/?', '/a'],
  ])('the folder in front of %s is "%s"', (pattern, folder) => {
    expect(patternRoot(pattern)).toBe(folder);
    expect(isPattern(pattern)).toBe(true);
  });
});
