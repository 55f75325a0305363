/** A node of a WKT text: a keyword with values and child nodes. */
export interface WktNode {
  /** Upper case. */
  keyword: string;
  /** Quoted texts, numbers and bare words, in order. */
  values: (string | number)[];
  children: WktNode[];
  /** Where the node begins in the text. */
  begin: number;
  end: number;
}

const DEPTH_MAX = 64;

/**
 * Parses WKT 1 or 2 text into its tree, knowing brackets and quotes only, both [ ] and ( ).
 * @throws Error with position and reason, for the caller to report
 */
export function parseWkt(text: string): WktNode {
  const reader = new WktReader(text);
  const node = reader.node(0);
  reader.end();
  return node;
}

/** The first child with one of the keywords, or null. */
export function child(node: WktNode, ...keywords: string[]): WktNode | null {
  return node.children.find((c) => keywords.includes(c.keyword)) ?? null;
}

/** The node's first text, which is its name, or ''. */
export function nameOf(node: WktNode): string {
  const name = node.values.find((v) => typeof v === 'string');
  return typeof name === 'string' ? name : '';
}

class WktReader {
  private at = 0;

  constructor(private readonly text: string) {}

  node(depth: number): WktNode {
    if (depth > DEPTH_MAX) throw this.error('brackets are nested too deep');
    this.space();
    const begin = this.at;
    const keyword = this.word();
    if (keyword === '') throw this.error('a keyword is missing');
    this.space();
    const close = { '[': ']', '(': ')' }[this.text[this.at]];
    if (!close) throw this.error(`"[" is missing behind ${keyword}`);
    this.at++;
    const node: WktNode = { keyword: keyword.toUpperCase(), values: [], children: [], begin, end: begin };
    for (;;) {
      this.space();
      this.item(node, depth);
      this.space();
      const c = this.text[this.at++];
      if (c === close) break;
      if (c !== ',') {
        this.at--;
        throw this.error(c === undefined ? `it ends inside ${keyword}` : `"${c}" is not expected`);
      }
    }
    node.end = this.at;
    return node;
  }

  end(): void {
    this.space();
    if (this.at < this.text.length) throw this.error('something follows the end');
  }

  private item(node: WktNode, depth: number): void {
    const c = this.text[this.at];
    if (c === '"') {
      node.values.push(this.quoted());
    } else if (c !== undefined && /[-+.0-9]/.test(c)) {
      const number = /^[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?/.exec(this.text.slice(this.at, this.at + 64));
      if (!number) throw this.error('a number cannot be read');
      this.at += number[0].length;
      node.values.push(Number(number[0]));
    } else {
      const start = this.at;
      const word = this.word();
      if (word === '') {
        // An empty item, as in "KEYWORD[]", is tolerated.
        if (c === ']' || c === ')' || c === ',') return;
        throw this.error(c === undefined ? `it ends inside ${node.keyword}` : `"${c}" is not expected`);
      }
      this.space();
      if (this.text[this.at] === '[' || this.text[this.at] === '(') {
        this.at = start;
        node.children.push(this.node(depth + 1));
      } else {
        node.values.push(word);
      }
    }
  }

  /** A quote inside is written twice. */
  private quoted(): string {
    let value = '';
    for (;;) {
      const end = this.text.indexOf('"', this.at + 1);
      if (end < 0) throw this.error('a quote is not closed');
      value += this.text.slice(this.at + 1, end);
      this.at = end + 1;
      if (this.text[this.at] !== '"') return value;
      value += '"';
    }
  }

  private word(): string {
    const match = /^[A-Za-z_][A-Za-z0-9_:-]*/.exec(this.text.slice(this.at, this.at + 128));
    this.at += match ? match[0].length : 0;
    return match ? match[0] : '';
  }

  private space(): void {
    while (this.at < this.text.length && this.text.charCodeAt(this.at) <= 32) this.at++;
  }

  private error(reason: string): Error {
    return new Error(`${reason} (character ${this.at + 1})`);
  }
}
