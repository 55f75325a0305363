// Whether a report page can do nothing but show itself: no foreign script, no handler, no address that loads or runs.
import { createHash } from 'node:crypto';

/** What is wrong with the page, or null. `own`: digests of scripts and styles that a harmless report has. */
export function pageProblem(html, own) {
  const policy = /<meta http-equiv="Content-Security-Policy" content="([^"]*)">/.exec(html)?.[1] ?? '';
  if (!/default-src 'none'/.test(policy) || !/script-src 'sha256-[^']+'/.test(policy) || /unsafe|\*/.test(policy))
    return `the policy is not strict: ${policy}`;
  let at = 0;
  while (at < html.length) {
    const open = html.indexOf('<', at);
    if (open < 0) return null;
    const tag = /^<(\/?)([a-zA-Z][a-zA-Z0-9-]*|!doctype|!--)/i.exec(html.slice(open, open + 40));
    if (!tag) return `a bare "<" at ${open}: ${html.slice(open, open + 60)}`;
    const close = endOfTag(html, open);
    const whole = html.slice(open, close + 1);
    const bad = attributeProblem(whole);
    if (bad) return `${bad} in ${whole.slice(0, 200)}`;
    at = close + 1;
    const name = tag[2].toLowerCase();
    if (tag[1] === '/' || (name !== 'script' && name !== 'style')) {
      if (/^(iframe|object|embed|link|base|img|form|audio|video|frame)$/.test(name)) return `an element ${name}`;
      continue;
    }
    const end = html.indexOf(`</${name}`, at);
    const content = html.slice(at, end);
    // Data blocks are text to a browser; they must not end early, which the search for their end would show.
    if (!/type="application\/(json|octet-stream)"/.test(whole) && !own.has(digest(content))) return `a foreign ${name}`;
    at = end;
  }
  return null;
}

/** Digests of the texts that may act in a page. */
export function ownContents(texts) {
  return new Set(texts.map(digest));
}

function digest(text) {
  return createHash('sha256').update(text).digest('hex');
}

function endOfTag(html, open) {
  let quote = '';
  for (let i = open + 1; i < html.length; i++) {
    const c = html[i];
    if (quote !== '') {
      if (c === quote) quote = '';
    } else if (c === '"' || c === "'") quote = c;
    else if (c === '>') return i;
  }
  return html.length;
}

function attributeProblem(tag) {
  for (const [, name, value] of tag.matchAll(/\s([a-zA-Z:-]+)\s*=\s*"([^"]*)"/g)) {
    if (/^on/i.test(name)) return `a handler ${name}`;
    if (/^(href|src|action|data|xlink:href|formaction)$/i.test(name) && !/^#/.test(value)) return `an address ${value}`;
  }
  return null;
}

/** Whether XML is well-formed as far as text can break it: no bare markup, no character that XML does not know. */
export function xmlProblem(xml) {
  // biome-ignore lint/suspicious/noControlCharactersInRegex: those are what XML 1.0 does not allow
  const odd = /[\u0000-\u0008\u000b\u000c\u000e-\u001f\ufffe\uffff]/.exec(xml);
  if (odd) return `a character U+${odd[0].charCodeAt(0).toString(16)}`;
  const depth = [];
  for (const [whole, slash, name, empty] of xml.matchAll(
    /<(\/?)([A-Za-z:_][\w:.-]*)(?:\s+[\w:.-]+\s*=\s*"[^"<]*")*\s*(\/?)>|<[^?!]/g,
  )) {
    if (name === undefined) return `bare markup ${whole}`;
    if (slash) {
      if (depth.pop() !== name) return `an element ${name} that was not open`;
    } else if (!empty) depth.push(name);
  }
  if (/&(?!(amp|lt|gt|quot|apos|#\d+|#x[0-9a-f]+);)/i.test(xml)) return 'a bare ampersand';
  return depth.length > 0 ? `elements left open: ${depth.join(' ')}` : null;
}
