// The table of the proof, for the console and for specs/proof.md.

const HEADS = [
  'claim',
  'runs',
  'values',
  'planted',
  'mean error',
  'spread',
  'stated std',
  '95 % interval holds',
  'verdict right / undetermined / wrong',
  'outcome',
];

function number(value, unit) {
  if (!Number.isFinite(value)) return '';
  const digits = Math.abs(value) >= 100 ? 1 : Math.abs(value) >= 1 ? 2 : 3;
  return `${value.toFixed(digits)}${unit ? ` ${unit}` : ''}`;
}

function cells(row) {
  const planted =
    row.values === 0
      ? ''
      : row.plantedLow === row.plantedHigh
        ? number(row.plantedLow, row.unit)
        : `${number(row.plantedLow)} to ${number(row.plantedHigh, row.unit)}`;
  const share = row.intervals > 0 ? `${((100 * row.covered) / row.intervals).toFixed(0)} % of ${row.intervals}` : '';
  const verdicts = row.judged > 0 ? `${row.right} / ${row.undetermined} / ${row.wrong} (${row.expected} expected)` : '';
  const values = row.values === row.revealed ? String(row.values || '') : `${row.revealed} of ${row.values}`;
  return [
    row.claim,
    String(row.runs),
    values,
    planted,
    number(row.bias, row.unit),
    number(row.spread, row.unit),
    number(row.statedStd, row.unit),
    share,
    verdicts,
    row.outcome,
  ];
}

/** The rows as columns of text. */
export function consoleTable(rows) {
  const lines = [HEADS, ...rows.map(cells)];
  const widths = HEADS.map((_, k) => Math.max(...lines.map((line) => line[k].length)));
  return lines
    .map((line) =>
      line
        .map((text, k) => text.padEnd(widths[k]))
        .join('  ')
        .trimEnd(),
    )
    .join('\n');
}

function markdown(rows) {
  const line = (texts) => `| ${texts.map((text) => text.replaceAll('|', '/')).join(' | ')} |`;
  return [line(HEADS), line(HEADS.map(() => '---')), ...rows.map((row) => line(cells(row)))].join('\n');
}

/** specs/proof.md: the words about it, the claims that are not met, and all claims. */
export function page(words, rows, facts) {
  const notMet = rows.filter(({ outcome }) => outcome.startsWith('not met') || outcome === 'not revealed');
  const few = rows.filter(({ outcome }) => outcome === 'too few runs').length;
  return [
    words.trimEnd(),
    '',
    `Measured on ${facts.date} with commit ${facts.commit}: ${facts.runs} deliveries, ${rows.length} claims, ` +
      `${notMet.length} not met or not revealed, ${few} open for want of runs, ${facts.crashes} crashes of the program.`,
    '',
    '## Claims that are not met, and faults that are not detected',
    '',
    notMet.length > 0 ? markdown(notMet) : 'None.',
    '',
    '## All claims',
    '',
    markdown(rows),
    '',
  ].join('\n');
}
