import { Fault } from '../fault.js';

/** A position in a text: line and column, both from 1. Columns count UTF-16 units, as editors do. */
interface TextPlace {
  line: number;
  column: number;
}

/** A parsed JSON text. */
export interface JsonText {
  value: unknown;
  /** Start of the value at a JSON pointer (RFC 6901); null when there is none or positions were not recorded. */
  placeOf(pointer: string): TextPlace | null;
}

/** Nesting deeper than this is refused: RFC 8259 section 9 lets a parser set a limit, and no spec or map needs more. */
const MAX_DEPTH = 200;

/**
 * Parses JSON (RFC 8259) with messages that give line and column, and refuses a key that is given twice in one object:
 * the standard parser silently keeps the last one, so that a limit could be overruled unseen.
 *
 * @param where file name for messages
 * @param places true to record where every value starts (small files only)
 * @throws Fault `json-syntax`
 */
export function parseJson(text: string, where: string, places = false): JsonText {
  const body = text.charCodeAt(0) === 0xfeff ? text.slice(1) : text;
  const starts = places ? new Map<string, number>() : null;
  const scanner = new Scanner(body, where, starts);
  scanner.document();
  return {
    value: JSON.parse(body),
    placeOf(pointer) {
      const at = starts?.get(pointer);
      return at === undefined ? null : placeAt(body, at);
    },
  };
}

/** Escapes one key for use in a JSON pointer (RFC 6901 section 3). */
function pointerKey(key: string | number): string {
  return String(key).replaceAll('~', '~0').replaceAll('/', '~1');
}

function placeAt(text: string, offset: number): TextPlace {
  let line = 1;
  let lineStart = 0;
  for (let i = 0; i < offset; i++) {
    const code = text.charCodeAt(i);
    if (code === 10 || (code === 13 && text.charCodeAt(i + 1) !== 10)) {
      line++;
      lineStart = i + 1;
    }
  }
  return { line, column: offset - lineStart + 1 };
}

const NUMBER = /-?(?:0|[1-9]\d*)(?:\.\d+)?(?:[eE][+-]?\d+)?/y;
// biome-ignore lint/suspicious/noControlCharactersInRegex: RFC 8259 section 7 forbids just these inside a string
const STRING = /"(?:[^"\\\u0000-\u001f]|\\(?:["\\/bfnrt]|u[0-9a-fA-F]{4}))*"/y;
const SPACE = /[ \t\r\n]*/y;

/** Checks the text from start to end; builds nothing but the places asked for. */
class Scanner {
  private at = 0;
  private depth = 0;

  constructor(
    private readonly text: string,
    private readonly where: string,
    private readonly starts: Map<string, number> | null,
  ) {}

  document(): void {
    this.space();
    if (this.at >= this.text.length) this.fail('the file is empty');
    this.element('');
    this.space();
    if (this.at < this.text.length) this.fail('there is text after the end of the JSON value');
  }

  private element(pointer: string): void {
    this.starts?.set(pointer, this.at);
    const char = this.text[this.at];
    if (char === '{') this.nested(pointer, '}');
    else if (char === '[') this.nested(pointer, ']');
    else if (char === '"') this.string();
    else if (!this.take(NUMBER) && !this.word('true') && !this.word('false') && !this.word('null')) this.badValue();
    else if (/[\w.+]/.test(this.text[this.at] ?? '')) this.fail('invalid number or word');
  }

  private nested(pointer: string, close: '}' | ']'): void {
    if (++this.depth > MAX_DEPTH) this.fail(`nested more than ${MAX_DEPTH} levels deep`);
    const open = this.at++;
    const keys = close === '}' ? new Set<string>() : null;
    this.space();
    if (this.text[this.at] === close) {
      this.at++;
      this.depth--;
      return;
    }
    for (let index = 0; ; index++) {
      this.space();
      if (this.text[this.at] === close) this.fail(`there is a comma before the closing "${close}"`);
      const key = keys ? this.key(keys) : index;
      this.element(this.starts ? `${pointer}/${pointerKey(key)}` : '');
      this.space();
      const next = this.text[this.at];
      if (next === close) break;
      if (next === undefined) this.unclosed(open, close);
      if (next !== ',') this.fail(`a "," or "${close}" is missing here`);
      this.at++;
    }
    this.at++;
    this.depth--;
  }

  private key(seen: Set<string>): string {
    if (this.text[this.at] === undefined) this.fail('the file ends in the middle of an object');
    if (this.text[this.at] !== '"') this.fail('a key in double quotes is expected here');
    const start = this.at;
    this.string();
    const key = JSON.parse(this.text.slice(start, this.at)) as string;
    if (seen.has(key)) this.fail(`the key "${key}" is given twice in the same object`, start);
    seen.add(key);
    this.space();
    if (this.text[this.at] !== ':') this.fail(`a ":" is missing after the key "${key}"`);
    this.at++;
    this.space();
    return key;
  }

  private string(): void {
    if (!this.take(STRING))
      this.fail('the text in double quotes is not closed or contains a character that must be escaped');
  }

  private badValue(): never {
    const rest = this.text.slice(this.at, this.at + 2);
    if (rest === '') this.fail('the file ends where a value is expected');
    if (rest === '//' || rest === '/*' || rest[0] === '#') this.fail('comments are not allowed in JSON; use "note"');
    if (rest[0] === "'") this.fail("texts need double quotes, not '");
    if (/[.+\d]/.test(rest[0])) this.fail('invalid number; write it as 0.02');
    this.fail('a value is expected here');
  }

  private unclosed(open: number, close: string): never {
    const place = placeAt(this.text, open);
    this.fail(`the file ends, but the "${this.text[open]}" of line ${place.line} still lacks its "${close}"`);
  }

  private space(): void {
    this.take(SPACE);
  }

  private word(word: string): boolean {
    if (!this.text.startsWith(word, this.at)) return false;
    this.at += word.length;
    return true;
  }

  private take(pattern: RegExp): boolean {
    pattern.lastIndex = this.at;
    if (!pattern.test(this.text)) return false;
    this.at = pattern.lastIndex;
    return true;
  }

  private fail(what: string, at = this.at): never {
    const place = placeAt(this.text, at);
    throw new Fault({
      code: 'json-syntax',
      what: `not valid JSON at line ${place.line}, column ${place.column}: ${what}`,
      where: this.where,
    });
  }
}
