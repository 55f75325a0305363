/** Whether a text contains a wildcard: `*`, `**` or `?`. */
export function isPattern(text: string): boolean {
  return /[*?]/.test(text);
}

/** The folder before the first wildcard, with `/` between names: "a/b" of "a/b/c*\/d.las", "" of "*.las". */
export function patternRoot(pattern: string): string {
  const parts = pattern.split('/');
  const fixed = parts.slice(0, parts.findIndex(isPattern)).join('/');
  return fixed === '' && pattern.startsWith('/') ? '/' : fixed;
}

/**
 * A regular expression for a path with `/` between names. `*` and `?` stand for characters of one name, `**` as a whole
 * name for any number of folders, none too. As in shells, names that begin with a dot are matched only when written so,
 * and capitals count.
 */
export function patternToRegExp(pattern: string): RegExp {
  const parts = pattern.split('/');
  let source = '';
  parts.forEach((part, index) => {
    const last = index === parts.length - 1;
    if (part === '**') source += last ? '(?:(?!\\.)[^/]+/)*(?!\\.)[^/]+' : '(?:(?!\\.)[^/]+/)*';
    else source += nameSource(part) + (last ? '' : '/');
  });
  return new RegExp(`^${source}$`, 'su');
}

function nameSource(part: string): string {
  const guard = /^[*?]/.test(part) ? '(?!\\.)' : '';
  // `**` inside a name is the same as `*`; folded, so that matching cannot take exponential time.
  const text = part.replace(/\*+/g, '*').replace(/[.+^${}()|[\]\\/]/g, '\\$&');
  return guard + text.replaceAll('*', '[^/]*').replaceAll('?', '[^/]');
}
