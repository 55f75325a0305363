import { inflateSync } from 'node:zlib';

/**
 * Text of each page of a PDF as Chromium's writer makes it: classic objects, content compressed by Flate, fonts addressed by
 * glyph with a ToUnicode map (ISO 32000-1, 9.10). Enough to see what is printed where; words may be split.
 */
export function pdfPages(file: Uint8Array): string[] {
  const objects = objectsOf(Buffer.from(file).toString('latin1'));
  const root = [...objects.values()].find(({ head }) => /\/Type\s*\/Catalog/.test(head));
  const pages = kidsOf(objects, refOf(root?.head ?? '', 'Pages') ?? 0);
  return pages.map((page) => pageText(objects, page));
}

interface PdfObject {
  head: string;
  /** Inflated, as one character a byte. */
  stream: string;
}

function objectsOf(text: string): Map<number, PdfObject> {
  const objects = new Map<number, PdfObject>();
  for (const match of text.matchAll(/(?:^|\n)(\d+) 0 obj\s*([\s\S]*?)\nendobj/g)) {
    const [, number, body] = match;
    const at = body.search(/\bstream\r?\n/);
    if (at < 0) {
      objects.set(Number(number), { head: body, stream: '' });
      continue;
    }
    const head = body.slice(0, at);
    const raw = body
      .slice(at)
      .replace(/^stream\r?\n/, '')
      .replace(/\r?\nendstream\s*$/, '');
    const flate = /\/Filter\s*\/FlateDecode/.test(head);
    const stream = flate ? inflateSync(Buffer.from(raw, 'latin1')).toString('latin1') : raw;
    objects.set(Number(number), { head, stream });
  }
  return objects;
}

function refOf(head: string, key: string): number | null {
  const found = new RegExp(`/${key}\\s+(\\d+) 0 R`).exec(head);
  return found ? Number(found[1]) : null;
}

function kidsOf(objects: Map<number, PdfObject>, node: number): number[] {
  const head = objects.get(node)?.head ?? '';
  const kids = /\/Kids\s*\[([^\]]*)\]/.exec(head);
  if (!kids) return [node];
  return [...kids[1].matchAll(/(\d+) 0 R/g)].flatMap(([, kid]) => kidsOf(objects, Number(kid)));
}

function pageText(objects: Map<number, PdfObject>, page: number): string {
  const head = objects.get(page)?.head ?? '';
  const resources = objects.get(refOf(head, 'Resources') ?? -1)?.head ?? head;
  const fontList = /\/Font\s*<<([\s\S]*?)>>/.exec(resources)?.[1] ?? '';
  const maps = new Map<string, Map<number, string>>();
  for (const [, name, ref] of fontList.matchAll(/\/(\w+)\s+(\d+) 0 R/g)) {
    const map = objects.get(refOf(objects.get(Number(ref))?.head ?? '', 'ToUnicode') ?? -1);
    if (map) maps.set(name, toUnicode(map.stream));
  }
  const content = objects.get(refOf(head, 'Contents') ?? -1)?.stream ?? '';
  let font = new Map<number, string>();
  let text = '';
  for (const [, name, hex, end] of content.matchAll(/\/(\w+)\s+[\d.]+\s+Tf|<([0-9A-Fa-f]+)>|\b(ET)\b/g)) {
    if (name) font = maps.get(name) ?? new Map();
    else if (end) text += ' ';
    else for (const [code] of hex.matchAll(/.{4}/g)) text += font.get(Number.parseInt(code, 16)) ?? '';
  }
  return text.replace(/\s+/g, ' ');
}

/** Reads the bfchar and bfrange parts of a ToUnicode map. */
function toUnicode(map: string): Map<number, string> {
  const known = new Map<number, string>();
  const letters = (hex: string) =>
    (hex.match(/.{4}/g) ?? []).map((code) => String.fromCharCode(Number.parseInt(code, 16))).join('');
  for (const [, block] of map.matchAll(/beginbfchar([\s\S]*?)endbfchar/g))
    for (const [, code, to] of block.matchAll(/<(\w+)>\s*<(\w+)>/g)) known.set(Number.parseInt(code, 16), letters(to));
  for (const [, block] of map.matchAll(/beginbfrange([\s\S]*?)endbfrange/g)) {
    for (const [, from, to, start] of block.matchAll(/<(\w+)>\s*<(\w+)>\s*<(\w+)>/g)) {
      const first = Number.parseInt(from, 16);
      for (let code = first; code <= Number.parseInt(to, 16); code++)
        known.set(code, String.fromCharCode(Number.parseInt(start, 16) + code - first));
    }
  }
  return known;
}
