const strict = new TextDecoder('utf-8', { fatal: true });
const latin = new TextDecoder('latin1');

/** Text of bytes: UTF-8 where it is UTF-8, else Latin-1, which never fails. */
export function decodeText(bytes: Uint8Array): string {
  try {
    return strict.decode(bytes);
  } catch {
    return latin.decode(bytes);
  }
}

/**
 * A fixed-width text field: everything before the first zero byte. `padded` says whether everything after it is zero,
 * as the format asks.
 */
export function fixedText(bytes: Uint8Array, begin: number, length: number): { text: string; padded: boolean } {
  const field = bytes.subarray(begin, begin + length);
  const zero = field.indexOf(0);
  if (zero < 0) return { text: decodeText(field), padded: true };
  let padded = true;
  for (let i = zero; i < field.length; i++) if (field[i] !== 0) padded = false;
  return { text: decodeText(field.subarray(0, zero)), padded };
}

/** A number for people: thousands grouped by commas, no decimals added. */
export function grouped(n: number): string {
  return n.toLocaleString('en-US', { maximumFractionDigits: 6 });
}

/** Whether a text is made of printable ASCII characters only. */
export function isPlainAscii(text: string): boolean {
  return /^[\x20-\x7e]*$/.test(text);
}

/** Whether bytes are well-formed UTF-8. */
export function isUtf8(bytes: Uint8Array): boolean {
  try {
    strict.decode(bytes);
    return true;
  } catch {
    return false;
  }
}
