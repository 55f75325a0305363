/** A number read from text, or the reason why it is not a number. */
export type Decimal = { value: number } | { problem: string };

const PLAIN = /^[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?$/;
/** Thousands separated by apostrophes or blanks, which is unambiguous: 5'800'107.288 or 5 800 107,288. */
const GROUPED = /^[+-]?\d{1,3}(?:['\u2019\u0020\u00a0\u2009\u202f]\d{3})+(?:[.,]\d*)?$/;

/**
 * Makes a reader for the numbers of one file, with decimal point or decimal comma. The first number with a mark decides
 * for the whole file: 1,234 and 1.234 can each be read two ways, so a file that has both is refused rather than guessed.
 */
export function createDecimalReader(): (text: string) => Decimal {
  let mark: string | null = null;
  return (text) => {
    let plain = text.trim().replace('\u2212', '-');
    if (GROUPED.test(plain)) plain = plain.replace(/['\u2019\u0020\u00a0\u2009\u202f]/g, '');
    if (/^[+-]?\d+([.,]\d{3})+([.,]\d*)?$/.test(plain) && (plain.match(/[.,]/g) ?? []).length > 1) {
      return { problem: 'thousands separators are not allowed, since 1,234 and 1.234 cannot be distinguished' };
    }
    if (!PLAIN.test(plain)) return { problem: 'a number is expected here' };
    const found = /[.,]/.exec(plain)?.[0] ?? null;
    mark ??= found;
    if (found !== null && found !== mark) {
      return { problem: `the decimal mark is "${found}" here and "${mark}" in earlier numbers of the file` };
    }
    const value = Number(plain.replace(',', '.'));
    return Number.isFinite(value) ? { value } : { problem: 'the number is too large' };
  };
}
