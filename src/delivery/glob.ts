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
 * A test whether a path with `/` between names fits a pattern. `*` and `?` stand for characters of one name, `**` as a whole
 * name for any number of folders, none too. As in shells, names that begin with a dot are matched only when written so,
 * and capitals count. The time grows with the length of the pattern times that of the path, whatever the pattern.
 */
export function patternMatcher(pattern: string): (path: string) => boolean {
  const parts = pattern.split('/').map((part) => (part === '**' ? null : nameMatcher(part)));
  return (path) => {
    const names = path.split('/');
    // Whether the parts so far match the names before each place.
    let fits = names.map(() => false);
    fits.unshift(true);
    parts.forEach((part, p) => {
      const next = fits.map((_, n) => part !== null && n > 0 && fits[n - 1] && part(names[n - 1]));
      if (part === null) {
        // As the last part it stands for one name at least.
        const last = p === parts.length - 1;
        let open = false;
        for (let n = 0; n <= names.length; n++) {
          const passed: boolean = n > 0 && open && !names[n - 1].startsWith('.');
          next[n] = passed || (fits[n] && !last);
          open = passed || fits[n];
        }
      }
      fits = next;
    });
    return fits[names.length];
  };
}

/** A test of one name. After a star that fits, the stars before it need not be tried again. */
function nameMatcher(part: string): (name: string) => boolean {
  const wanted = [...part.replace(/\*+/g, '*')];
  return (name) => {
    if (name.startsWith('.') && wanted[0] !== '.') return false;
    const letters = [...name];
    let [at, w] = [0, 0];
    let star = -1;
    let tried = 0;
    while (at < letters.length) {
      if (wanted[w] === '*') {
        star = w++;
        tried = at;
      } else if (w < wanted.length && (wanted[w] === '?' || wanted[w] === letters[at])) {
        w++;
        at++;
      } else if (star >= 0) {
        w = star + 1;
        at = ++tried;
      } else return false;
    }
    while (wanted[w] === '*') w++;
    return w === wanted.length;
  };
}
