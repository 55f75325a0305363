/** HTML that can be put on the page without escaping. It is made by `markup`, or by `trusted` from our own text. */
export interface Markup {
  readonly html: string;
}

type Piece = Markup | string | number | null | undefined | false | readonly Piece[];

/**
 * HTML from a template. Every value is escaped unless it is Markup, so that a file name or a WKT string cannot add elements to
 * the page. Attribute values must be in double quotes. null, undefined and false give no text.
 */
export function markup(parts: TemplateStringsArray, ...pieces: Piece[]): Markup {
  let html = parts[0];
  for (let i = 0; i < pieces.length; i++) html += render(pieces[i]) + parts[i + 1];
  return { html };
}

/** Markup from text that is known to be safe, such as our own style sheet; never from text of a file. */
export function trusted(html: string): Markup {
  return { html };
}

/** The text with the five characters that have a meaning in HTML as entities, and control characters as `?`. */
function escapeText(text: string): string {
  return (
    text
      .replace(/&/g, '&amp;')
      .replace(/</g, '&lt;')
      .replace(/>/g, '&gt;')
      .replace(/"/g, '&quot;')
      .replace(/'/g, '&#39;')
      // biome-ignore lint/suspicious/noControlCharactersInRegex: characters HTML does not allow, and those that reverse text
      .replace(/[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f\u202a-\u202e\u2066-\u2069]/g, '?')
  );
}

function render(piece: Piece): string {
  if (piece === null || piece === undefined || piece === false) return '';
  if (typeof piece === 'string') return escapeText(piece);
  if (typeof piece === 'number') return escapeText(String(piece));
  if (Array.isArray(piece)) return piece.map(render).join('');
  return (piece as Markup).html;
}
