/**
 * Characters that do something to a terminal or to the order of the text around them: control characters, and the marks and
 * overrides of the Unicode bidirectional algorithm (UAX #9, table of explicit directional formatting characters).
 */
// biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what must go
const UNSAFE = /[\u0000-\u001f\u007f-\u009f\u061c\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069]/g;

/** A text of one line for a terminal: what could act on it is replaced by a question mark. */
export function clean(text: string): string {
  return text.replace(UNSAFE, '?');
}

/** As `clean`, for a text of several lines: line breaks and tabs stay. */
export function printable(text: string): string {
  return text.replace(UNSAFE, (character) => (character === '\n' || character === '\t' ? character : '?'));
}

/** JSON with such characters in the escaped form of JSON, which reads back the same; line breaks between values stay. */
export function printableJson(json: string): string {
  return json.replace(UNSAFE, (character) =>
    character === '\n' ? character : `\\u${character.charCodeAt(0).toString(16).padStart(4, '0')}`,
  );
}

/** A text in which addresses have no query (after the ?), which may hold keys. */
export function withoutQueries(text: string): string {
  return text.replace(/(\b[a-z][a-z0-9+.-]*:\/\/[^\s?]*)\?\S*?(?=[:;,.)\]"']*(?:\s|$))/gi, '$1');
}
