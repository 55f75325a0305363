import { type Comparison, type Difference, statementChange } from './compare.js';
import { dataTable } from './html/html-table.js';
import { type Markup, markup } from './html/markup.js';
import { viewerScript } from './html/viewer-script.js';
import { page } from './html.js';
import { countOf, deliveryWords } from './wording.js';

type Group = 'worse' | 'better' | 'unchanged' | 'new' | 'removed';

const GROUPS: { key: Group; title: string; shape: string }[] = [
  { key: 'worse', title: 'Regressed', shape: '✗' },
  { key: 'better', title: 'Fixed', shape: '✓' },
  { key: 'new', title: 'New', shape: '+' },
  { key: 'removed', title: 'Removed', shape: '-' },
  { key: 'unchanged', title: 'Unchanged', shape: '=' },
];

/** The comparison as the text of one HTML page in the form of the report: in one file, and it loads nothing. */
export function comparisonHtml(comparison: Comparison): string {
  const { before, after } = comparison.verdict;
  const words = deliveryWords(after);
  const count = (key: Group) => `${comparison[key].length} ${key}`;
  return page(
    `Comparison: ${deliveryWords(before).word} before, ${words.word} now`,
    markup`<a class="skip" href="#requirements">To the requirements</a>
<main>
<header><h1>Two reports compared</h1>
<div class="verdict ${words.tone}"><p class="word"><span aria-hidden="true">${words.shape}</span> ${words.word}</p>
<p class="why">${deliveryWords(before).word} before. ${GROUPS.map(({ key }) => count(key)).join(', ')}.</p>
${!comparison.sameSpec && markup`<p>The two reports were judged by different specs, so a change may come from a changed limit.</p>`}</div></header>
<h2 id="requirements">Requirements</h2>
${requirements(comparison)}
<h2 id="tiles">Tiles</h2>
${tiles(comparison)}
</main>`,
    viewerScript(),
  );
}

function requirements(comparison: Comparison): Markup {
  const rows = ofKind(comparison, 'requirement').map(({ item, group }) => [
    `${group.shape} ${group.title.toLowerCase()}`,
    item.name,
    item.title,
    item.before ?? 'absent',
    item.after ?? 'absent',
    markup`${item.figures.map(({ label, before, after, limit }) => markup`<div class="n">${label} ${[before, after].filter((text) => text !== '').join(' → ')} (limit ${limit})</div>`)}${statementChange(item) && markup`<div>${statementChange(item)}</div>`}`,
  ]);
  const columns = ['Change', 'Requirement', 'Title', 'Before', 'Now', 'Figures'].map((title) => ({ title }));
  return dataTable(countOf(rows.length, 'requirement'), columns, rows, { most: 5000 });
}

function tiles(comparison: Comparison): Markup {
  const rows = ofKind(comparison, 'file').map(({ item, group }) => [
    `${group.shape} ${group.title.toLowerCase()}`,
    item.name,
    item.before ?? 'absent',
    item.after ?? 'absent',
    item.places.before.join(', '),
    item.places.after.join(', '),
  ]);
  const titles = ['Change', 'File', 'Read before', 'Read now', 'Places of, before', 'Places of, now'];
  return dataTable(
    countOf(rows.length, 'file'),
    titles.map((title) => ({ title })),
    rows,
    { most: 5000 },
  );
}

function ofKind(comparison: Comparison, kind: Difference['kind']) {
  return GROUPS.flatMap((group) =>
    comparison[group.key].filter((item) => item.kind === kind).map((item) => ({ item, group })),
  );
}
