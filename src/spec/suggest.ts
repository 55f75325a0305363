/**
 * Number of typing errors between two words: letters inserted, deleted, replaced, or two adjacent letters swapped
 * (the "optimal string alignment" form of the Damerau-Levenshtein distance).
 */
export function editDistance(a: string, b: string): number {
  let beforeLast: number[] = [];
  let last = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const row = [i];
    for (let j = 1; j <= b.length; j++) {
      const replaced = last[j - 1] + (a[i - 1] === b[j - 1] ? 0 : 1);
      let best = Math.min(last[j] + 1, row[j - 1] + 1, replaced);
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1])
        best = Math.min(best, beforeLast[j - 2] + 1);
      row.push(best);
    }
    beforeLast = last;
    last = row;
  }
  return last[b.length];
}

/**
 * The candidate a mistyped word was probably meant to be, or null when none is near. Capitals, hyphens and underscores do
 * not count as slips. Of equally near candidates the first in alphabetical order is taken.
 */
export function nearest(word: string, candidates: Iterable<string>): string | null {
  const plain = plainWord(word);
  let best: string | null = null;
  let bestDistance = Number.POSITIVE_INFINITY;
  for (const candidate of [...candidates].sort()) {
    const target = plainWord(candidate);
    const distance = editDistance(plain, target);
    const allowed = Math.max(1, Math.floor(Math.max(plain.length, target.length) / 3));
    const cut = Math.min(plain.length, target.length) >= 4 && (target.startsWith(plain) || plain.startsWith(target));
    if ((distance <= allowed || cut) && distance < bestDistance) {
      best = candidate;
      bestDistance = distance;
    }
  }
  return best;
}

function plainWord(word: string): string {
  return word.toLowerCase().replace(/[\s_-]/g, '');
}
