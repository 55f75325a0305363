/** An element of a page or document, as a strict reader sees it. */
export interface Element {
  tag: string;
  attributes: Record<string, string>;
  children: Element[];
  /** All text inside, entities resolved. */
  text: string;
}

const VOID_TAGS = new Set(['meta', 'link', 'br', 'img', 'input', 'hr']);
const ENTITIES: Record<string, string> = { amp: '&', lt: '<', gt: '>', quot: '"', apos: "'" };

/**
 * Reads well-formed markup and throws at the first thing that is not: an unclosed or crossed tag, a bare `&` or `<`, an
 * attribute without quotes or given twice. `html` lets void tags stand open and takes style and script as raw text.
 */
export function readMarkup(source: string, kind: 'xml' | 'html'): Element {
  const root: Element = { tag: '', attributes: {}, children: [], text: '' };
  const stack = [root];
  let at = 0;
  const prologue = /^(<\?xml [^?]*\?>|<!doctype html>)\s*/i.exec(source);
  if (prologue) at = prologue[0].length;
  while (at < source.length) {
    const next = source.indexOf('<', at);
    const text = source.slice(at, next < 0 ? source.length : next);
    addText(stack, text);
    if (next < 0) break;
    const closing = /^<\/([A-Za-z][\w:-]*)\s*>/.exec(source.slice(next));
    if (closing) {
      const open = stack.pop();
      if (open?.tag !== closing[1]) throw new Error(`</${closing[1]}> closes <${open?.tag}> at ${next}`);
      at = next + closing[0].length;
      continue;
    }
    const opening = /^<([A-Za-z][\w:-]*)((?:\s+[\w:-]+="[^"<]*")*)\s*(\/?)>/.exec(source.slice(next, next + 20_000));
    if (!opening) throw new Error(`not a tag: ${source.slice(next, next + 60)}`);
    const attributes: Record<string, string> = {};
    for (const [, name, value] of opening[2].matchAll(/([\w:-]+)="([^"]*)"/g)) {
      if (name in attributes) throw new Error(`attribute ${name} given twice at ${next}`);
      attributes[name] = resolve(value);
    }
    const element: Element = { tag: opening[1], attributes, children: [], text: '' };
    stack[stack.length - 1].children.push(element);
    at = next + opening[0].length;
    if (opening[3] === '/' || (kind === 'html' && VOID_TAGS.has(element.tag))) continue;
    if (kind === 'html' && (element.tag === 'style' || element.tag === 'script')) {
      const end = source.indexOf(`</${element.tag}>`, at);
      element.text = source.slice(at, end);
      at = end + element.tag.length + 3;
      continue;
    }
    stack.push(element);
  }
  if (stack.length !== 1) throw new Error(`<${stack[stack.length - 1].tag}> is never closed`);
  if (root.children.length !== 1) throw new Error(`${root.children.length} outermost elements`);
  return root.children[0];
}

/** The element and everything in it, in document order. */
export function everyElement(element: Element): Element[] {
  return [element, ...element.children.flatMap(everyElement)];
}

function addText(stack: Element[], source: string): void {
  if (stack.length === 1 && source.trim() !== '') throw new Error(`text outside the outermost element: ${source}`);
  const text = resolve(source);
  for (const element of stack) element.text += text;
}

function resolve(source: string): string {
  return source.replace(/&(#?\w*)(;?)/g, (whole, name: string, end: string) => {
    if (end !== ';') throw new Error(`bare & in: ${source.slice(0, 60)}`);
    if (name.startsWith('#')) return String.fromCodePoint(Number(name.slice(1)));
    if (!Object.hasOwn(ENTITIES, name)) throw new Error(`unknown entity ${whole}`);
    return ENTITIES[name];
  });
}
