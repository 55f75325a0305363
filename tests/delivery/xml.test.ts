import { describe, expect, it } from 'vitest';
import { readXml } from '../../src/delivery/xml.js';

function read(text: string): string[] {
  const events: string[] = [];
  readXml(text, 'a.xml', {
    open: ({ name, attributes, line }) => events.push(`<${name} ${JSON.stringify(attributes)} ${line}`),
    text: (piece) => piece.trim() !== '' && events.push(piece.trim()),
    close: (name) => events.push(`>${name}`),
  });
  return events;
}

// Expectations from XML 1.0, fifth edition (W3C): well-formedness, predefined entities (4.6), CDATA sections (2.7).
describe('readXml', () => {
  it('names elements and attributes without prefixes, with their lines', () => {
    expect(read('\ufeff<?xml version="1.0"?>\n<a:b xmlns:a="u" c="1 &amp; 2">x<![CDATA[ <y> ]]></a:b>')).toEqual([
      '<b {"a":"u","c":"1 & 2"} 2',
      'x',
      '<y>',
      '>b',
    ]);
  });

  it('does not expand entities of a document type', () => {
    const bomb = '<!DOCTYPE a [<!ENTITY b "bbbbbbbb"><!ENTITY c "&b;&b;&b;&b;">]>\n<a>&c;</a>';
    expect(() => read(bomb)).toThrow(/^a\.xml, line 2: this is not well-formed XML/);
  });

  it.each([['<a><b></a>'], ['<a'], [''], ['text'], ['<a b=1/>'], ['<a></a><b></b>']])('refuses %s', (text) => {
    expect(() => read(text)).toThrow(/not well-formed XML/);
  });
});
