/// <reference lib="dom" />
import { csvText } from './csv-text.js';
import { readerMarks } from './numbers.js';

/** Tables with fewer rows need no filter. */
const FILTERED_ROWS = 8;

/** Adds sorting and copying to every table of the page, and a filter to long ones. */
export function startTables(): void {
  for (const table of document.querySelectorAll<HTMLTableElement>('table.data')) {
    for (const head of table.querySelectorAll<HTMLTableCellElement>('thead th')) makeSortable(table, head);
    addTools(table);
  }
}

function makeSortable(table: HTMLTableElement, head: HTMLTableCellElement): void {
  const button = document.createElement('button');
  button.type = 'button';
  button.title = 'Sort by this column';
  button.append(...head.childNodes);
  head.append(button);
  button.addEventListener('click', () => {
    const up = head.getAttribute('aria-sort') !== 'ascending';
    for (const other of table.querySelectorAll('thead th')) other.removeAttribute('aria-sort');
    head.setAttribute('aria-sort', up ? 'ascending' : 'descending');
    const body = table.tBodies[0];
    const rows = [...body.rows].map((row) => ({ row, key: sortKey(row.cells[head.cellIndex]) }));
    rows.sort((a, b) => compareKeys(a.key, b.key, up));
    for (const { row } of rows) body.append(row);
  });
}

function sortKey(cell: HTMLTableCellElement | undefined): number | string | null {
  if (!cell || cell.classList.contains('none')) return null;
  return cell.dataset.value === undefined ? cellText(cell) : Number(cell.dataset.value);
}

/** Cells without a value come last in both directions. */
function compareKeys(a: number | string | null, b: number | string | null, up: boolean): number {
  if (a === null || b === null) return Number(a === null) - Number(b === null);
  const order =
    typeof a === 'number' && typeof b === 'number'
      ? a - b
      : String(a).localeCompare(String(b), 'en', { numeric: true });
  return up ? order : -order;
}

function addTools(table: HTMLTableElement): void {
  const caption = table.caption?.textContent ?? 'table';
  const tools = document.createElement('div');
  tools.className = 'table-tools';
  if (table.tBodies[0].rows.length > FILTERED_ROWS) tools.append(filterOf(table, caption));
  const copy = document.createElement('button');
  copy.type = 'button';
  copy.textContent = 'Copy as CSV';
  copy.setAttribute('aria-label', `Copy as CSV: ${caption}`);
  const said = document.createElement('output');
  copy.addEventListener('click', async () => {
    said.textContent = (await copyText(csvText(rowsOf(table), readerMarks))) ? 'copied' : 'the browser refused to copy';
    setTimeout(() => {
      said.textContent = '';
    }, 4000);
  });
  tools.append(copy, said);
  table.closest('.table-box')?.prepend(tools);
}

function filterOf(table: HTMLTableElement, caption: string): HTMLElement {
  const label = document.createElement('label');
  const input = document.createElement('input');
  const count = document.createElement('output');
  input.type = 'search';
  input.placeholder = 'rows that contain ...';
  input.setAttribute('aria-label', `Filter rows: ${caption}`);
  label.append('Filter ', input, ' ', count);
  input.addEventListener('input', () => {
    const wanted = input.value.trim().toLowerCase();
    const { rows } = table.tBodies[0];
    let shown = 0;
    for (const row of rows) {
      row.hidden = wanted !== '' && !(row.textContent ?? '').toLowerCase().includes(wanted);
      if (!row.hidden) shown++;
    }
    count.textContent = wanted === '' ? '' : `${shown} of ${rows.length}`;
  });
  return label;
}

/** The heading and the rows that are shown. */
function rowsOf(table: HTMLTableElement): string[][] {
  const shown = [...table.rows].filter((row) => !row.hidden);
  return shown.map((row) => [...row.cells].map(cellText));
}

/** Text of a cell without the buttons that were added to it, with a space between its parts. */
function cellText(cell: HTMLTableCellElement): string {
  const copy = cell.cloneNode(true) as HTMLElement;
  for (const button of copy.querySelectorAll('.fly')) button.remove();
  for (const part of copy.querySelectorAll('div, br')) part.after(' ');
  return (copy.textContent ?? '').replace(/\s+/g, ' ').trim();
}

async function copyText(text: string): Promise<boolean> {
  try {
    await navigator.clipboard.writeText(text);
    return true;
  } catch {
    return copyBySelection(text);
  }
}

/** An older way to copy, for browsers in which a page opened from a file may not use the clipboard. */
function copyBySelection(text: string): boolean {
  const area = document.createElement('textarea');
  area.value = text;
  document.body.append(area);
  area.select();
  const done = document.execCommand('copy');
  area.remove();
  return done;
}
