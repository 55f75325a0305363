/** Cells of a row from the first column to before the second. */
export type Run = readonly [begin: number, end: number];

/** Union of runs in any order: sorted, neither touching nor overlapping. */
export function joinRuns(runs: readonly Run[]): Run[] {
  const sorted = [...runs].sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const joined: [number, number][] = [];
  for (const [begin, end] of sorted) {
    const last = joined[joined.length - 1];
    if (last && begin <= last[1]) last[1] = Math.max(last[1], end);
    else if (end > begin) joined.push([begin, end]);
  }
  return joined;
}

/** What is left of the runs without the others; both sorted and without overlap. */
export function subtractRuns(runs: readonly Run[], others: readonly Run[]): Run[] {
  const left: Run[] = [];
  let k = 0;
  for (const [begin, end] of runs) {
    let at = begin;
    while (k < others.length && others[k][1] <= at) k++;
    for (let i = k; i < others.length && others[i][0] < end; i++) {
      if (others[i][0] > at) left.push([at, others[i][0]]);
      at = Math.max(at, others[i][1]);
    }
    if (at < end) left.push([at, end]);
  }
  return left;
}
