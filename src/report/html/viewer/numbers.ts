/// <reference lib="dom" />

/** How the reader's language writes numbers. */
export interface NumberMarks {
  group: string;
  decimal: string;
}

/** The marks of a language; those of English where the browser does not know it. */
export function marksOf(language: string | undefined): NumberMarks {
  try {
    const parts = new Intl.NumberFormat(language).formatToParts(1234567.8);
    const find = (type: string) => parts.find((part) => part.type === type)?.value;
    return { group: find('group') ?? '', decimal: find('decimal') ?? '.' };
  } catch {
    return { group: ',', decimal: '.' };
  }
}

/** The text with its numbers, which are written `1,234.5`, in other marks. */
export function localise(text: string, marks: NumberMarks): string {
  return text.replace(/\d{1,3}(?:,\d{3})+(?:\.\d+)?(?!\d)|\d+\.\d+/g, (number) =>
    number.replace(/[,.]/g, (mark) => (mark === ',' ? marks.group : marks.decimal)),
  );
}

/** The marks of the reader's browser. */
export const readerMarks = marksOf(globalThis.navigator?.language ?? 'en');

/** The text with its numbers in the marks of the reader's language. */
export function inReaderMarks(text: string): string {
  return readerMarks.group === ',' && readerMarks.decimal === '.' ? text : localise(text, readerMarks);
}

/** Rewrites the numbers in elements of class `n` or `num` in the marks of the reader's language. */
export function rewriteNumbers(root: ParentNode): void {
  if (readerMarks.group === ',' && readerMarks.decimal === '.') return;
  for (const element of root.querySelectorAll('.n, .num')) {
    const texts = document.createTreeWalker(element, NodeFilter.SHOW_TEXT);
    for (let text = texts.nextNode(); text; text = texts.nextNode()) {
      if (text.nodeValue) text.nodeValue = localise(text.nodeValue, readerMarks);
    }
  }
}
