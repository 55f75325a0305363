import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parseJson } from '../../src/spec/json-text.js';

const message = (text: string) => {
  try {
    parseJson(text, 'a.json');
  } catch (error) {
    return (error as Error).message;
  }
  return 'no fault';
};

describe('JSON with line and column', () => {
  it('agrees with the JSON parser of the platform on values', () => {
    fc.assert(
      fc.property(fc.json(), fc.constantFrom(undefined, 1, '\t'), (text, indent) => {
        const pretty = JSON.stringify(JSON.parse(text), null, indent);
        expect(parseJson(pretty, 'x').value).toEqual(JSON.parse(text));
      }),
    );
  });

  it('accepts and refuses damaged text just where the JSON parser of the platform does', () => {
    const alphabet = fc.constantFrom(...'{}[]:,"\\ntu01.-e+ \n\'/#'.split(''));
    const native = (text: string) => {
      try {
        JSON.parse(text);
        return true;
      } catch {
        return false;
      }
    };
    fc.assert(
      fc.property(fc.json(), fc.nat(), fc.nat(3), fc.array(alphabet, { maxLength: 3 }), (text, at, cut, put) => {
        const start = at % (text.length + 1);
        const damaged = text.slice(0, start) + put.join('') + text.slice(start + cut);
        const said = message(damaged);
        // The one thing refused beyond the grammar.
        fc.pre(!said.includes('given twice'));
        expect(said === 'no fault').toBe(native(damaged));
      }),
      { numRuns: 3000 },
    );
  });

  it.each([
    ['{\n  "a": 1,\n}', 'line 3, column 1', 'there is a comma before the closing "}"'],
    ['{\n  "a": 1\n  "b": 2\n}', 'line 3, column 3', 'a "," or "}" is missing here'],
    ['{\r\n"a": [1, 2\r\n', 'line 3, column 1', 'the "[" of line 2 still lacks its "]"'],
    ['{"a": 1, "a": 2}', 'line 1, column 10', 'the key "a" is given twice in the same object'],
    ['{"a": .5}', 'line 1, column 7', 'invalid number'],
    ['{"a": 0,02}', 'line 1, column 9', 'a key in double quotes is expected here'],
    ['{"a": 007}', 'line 1, column 8', 'invalid number or word'],
    ["{'a': 1}", 'line 1, column 2', 'a key in double quotes is expected here'],
    ['{"a": \'b\'}', 'line 1, column 7', 'texts need double quotes'],
    ['// x\n{}', 'line 1, column 1', 'comments are not allowed in JSON; use "note"'],
    ['{"a" 1}', 'line 1, column 6', 'a ":" is missing after the key "a"'],
    ['{"a": "b}', 'line 1, column 7', 'is not closed'],
    ['', 'line 1, column 1', 'the file is empty'],
    ['{} {}', 'line 1, column 4', 'after the end'],
    ['['.repeat(300), 'line 1, column 201', 'levels deep'],
  ])('%j', (text, place, what) => {
    expect(message(text)).toContain(`a.json: not valid JSON at ${place}: `);
    expect(message(text)).toContain(what);
  });

  it('tells where a value starts, behind a byte order mark and with odd keys', () => {
    const json = parseJson('\ufeff{\n "a/b": [1,\n  {"~": true}]}', 'x', true);
    expect(json.placeOf('/a~1b/1/~0')).toEqual({ line: 3, column: 9 });
    expect(json.placeOf('/nothing')).toBeNull();
    expect(parseJson('[1]', 'x').placeOf('/0')).toBeNull();
  });
});
