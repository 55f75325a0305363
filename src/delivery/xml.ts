import sax from 'sax';
import { Fault } from '../fault.js';

/** An element as it opens: its name and attributes without namespace prefixes, and its line in the file, from 1. */
export interface XmlElement {
  name: string;
  attributes: Readonly<Record<string, string>>;
  line: number;
}

/** What is called while a text is read, in the order of the text. */
export interface XmlHandler {
  open(element: XmlElement): void;
  /** Text between tags, in one or more pieces. */
  text?(text: string): void;
  close?(name: string): void;
}

/**
 * Reads an XML text from its begin to its end, without making a tree of it. Entities of a document type definition are not
 * expanded: one of them is a fault, so that a small file cannot become a large one.
 * @throws Fault `xml-syntax` with the line
 */
export function readXml(text: string, where: string, handler: XmlHandler): void {
  const parser = sax.parser(true);
  const plain = (name: string) => name.slice(name.indexOf(':') + 1);
  const refuse = (why: string) => {
    throw new Fault({
      code: 'xml-syntax',
      what: `this is not well-formed XML: ${why}`,
      where: `${where}, line ${parser.line + 1}`,
      advice: 'Export the file again',
    });
  };
  let depth = 0;
  let roots = 0;
  parser.onerror = (error) => refuse(error.message.split('\n')[0].replace(/\.$/, ''));
  parser.onopentag = ({ name, attributes }) => {
    if (depth === 0 && ++roots > 1) refuse('a second element follows the first');
    depth++;
    const own = Object.entries(attributes).map(([key, value]) => [plain(key), String(value)] as const);
    handler.open({ name: plain(name), attributes: Object.fromEntries(own), line: parser.line + 1 });
  };
  parser.ontext = (piece) => handler.text?.(piece);
  parser.oncdata = (piece) => handler.text?.(piece);
  parser.onclosetag = (name) => {
    depth--;
    handler.close?.(plain(name));
  };
  parser.write(text.replace(/^\ufeff/, '')).close();
  if (roots === 0) refuse('it holds no element');
}
