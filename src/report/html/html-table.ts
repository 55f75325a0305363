import { tidyNumber } from '../json.js';
import { columnScale, inColumn, NO_VALUE } from '../quantity.js';
import { countOf } from '../wording.js';
import { type Markup, markup } from './markup.js';

/** A column of a table: text, or numbers of one unit, which are all shown in the same unit. */
export interface Column {
  title: string;
  unit?: string;
  signed?: boolean;
  /** Number of decimals of a coordinate in metres, which is shown without separators between thousands. */
  coordinate?: number;
}

/** A cell whose text differs from the number it is sorted by, such as a value with its own unit. */
interface FigureCell {
  text: string;
  sort: number | null;
}

export type Cell = string | number | null | undefined | Markup | FigureCell;

/** The place of a row, metres. The viewer adds a button that shows the place on the map, with `reach` metres around it. */
interface RowPlace {
  x: number;
  y: number;
  reach: number;
}

/** A table with more rows is laid out only when it comes into view, so that a page of two thousand files opens at once. */
const LONG = 60;

export interface TableOptions {
  /** Largest number of rows shown; 500 unless given. */
  most?: number;
  /** Place of each row, for the map. */
  places?: readonly (RowPlace | null)[];
  /** What the table belongs to, where other tables have the same caption. */
  owner?: string;
}

/** A table with a caption and sortable columns. Where there are more rows than `most`, a note says how many are in report.json only. */
export function dataTable(
  caption: string,
  columns: readonly Column[],
  rows: readonly (readonly Cell[])[],
  { most = 500, places = [], owner }: TableOptions = {},
): Markup {
  const scales = columns.map((column, i) =>
    columnScale(
      rows.map((row) => (typeof row[i] === 'number' ? row[i] : null)),
      column.unit ?? '',
    ),
  );
  const numeric = columns.map((column, i) => column.unit !== undefined || rows.some((row) => isNumeric(row[i])));
  const head = columns.map((column, i) => {
    const unit = column.coordinate !== undefined ? 'm' : scales[i].label;
    return markup`<th scope="col" class="${numeric[i] ? 'num' : ''}">${column.title}${unit === '' ? '' : markup` <span class="unit">${unit}</span>`}</th>`;
  });
  const body = rows.slice(0, most).map(
    (row, r) =>
      markup`<tr ${placeAttributes(places[r])}>${columns.map((column, i) => cell(row[i], i, column, scales[i], numeric[i]))}</tr>
`,
  );
  const left = rows.length - most;
  return markup`<div class="table-box ${rows.length > LONG && 'long'}"><div class="scroll" tabindex="0" role="region" aria-label="${caption}${owner === undefined ? '' : `: ${owner}`}"><table class="data">
<caption>${caption}</caption>
<thead><tr>${head}</tr></thead>
<tbody>${body}</tbody></table></div></div>
${left > 0 && markup`<p class="note">${countOf(left, 'more row')} in report.json.</p>`}`;
}

function placeAttributes(place: RowPlace | null | undefined): Markup {
  return place
    ? markup`data-x="${tidyNumber(place.x)}" data-y="${tidyNumber(place.y)}" data-reach="${tidyNumber(place.reach)}"`
    : markup``;
}

function isNumeric(value: Cell): boolean {
  return typeof value === 'number' || (typeof value === 'object' && value !== null && 'sort' in value);
}

function cell(
  value: Cell,
  index: number,
  column: Column,
  scale: ReturnType<typeof columnScale>,
  numeric: boolean,
): Markup {
  if (typeof value === 'object' && value !== null) {
    if ('html' in value) return markup`<td>${value}</td>`;
    return value.sort === null
      ? markup`<td class="num none">${value.text}</td>`
      : markup`<td class="num" data-value="${value.sort}">${value.text}</td>`;
  }
  if (typeof value === 'string')
    return index === 0
      ? markup`<th scope="row">${value}</th>`
      : markup`<td class="${numeric ? 'num' : ''}">${value}</td>`;
  if (value === null || value === undefined)
    return numeric ? markup`<td class="num none">${NO_VALUE}</td>` : markup`<td class="none"></td>`;
  const text =
    column.coordinate !== undefined ? value.toFixed(column.coordinate) : inColumn(value, scale, column.signed);
  return markup`<td class="num" data-value="${value}">${text}</td>`;
}
