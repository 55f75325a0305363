import type { PassPairLine, Report } from '../model.js';
import { columnScale, inColumn, quantity, type scaleFor } from '../quantity.js';
import { px, roundStep } from './axis.js';
import { dataTable } from './html-table.js';
import { type Markup, markup } from './markup.js';

/** Tables of passes and pass pairs, with the shift of each pair as an arrow. Empty where there are none. */
export function passSection(report: Report): Markup {
  if (report.passes.length === 0 && report.passPairs.length === 0) return markup``;
  return markup`${dataTable(
    'Passes',
    [{ title: 'Pass' }, { title: 'Points', unit: 'count' }],
    report.passes.map((pass) => [pass.pass, pass.points]),
  )}
${report.passPairs.length > 0 && markup`${pairMatrix(report)}${pairTable(report.passPairs)}`}`;
}

/** With more passes the matrix is too large to read; the table below it has all pairs. */
const MOST_IN_MATRIX = 12;

/** Every pair of passes: the shift as an arrow below the diagonal, the RMS of the height differences above it. */
function pairMatrix({ passes, passPairs }: Report): Markup {
  const names = passes.map(({ pass }) => pass);
  if (names.length < 3 || names.length > MOST_IN_MATRIX) return markup``;
  const largest = passPairs
    .flatMap(({ shift }) => shift)
    .reduce<number>((most, v) => Math.max(most, Math.abs(v ?? 0)), 0);
  const full = largest > 0 ? roundStep(largest) : 0;
  const find = (a: string, b: string) => passPairs.find((p) => (p.a === a && p.b === b) || (p.a === b && p.b === a));
  const field = (row: number, column: number) => {
    if (row === column) return markup`<td class="self" aria-label="the same pass"></td>`;
    const pair = find(names[row], names[column]);
    if (!pair) return markup`<td class="none">no overlap</td>`;
    return row > column
      ? markup`<td>${shiftArrow(pair, full)}</td>`
      : markup`<td class="num">${quantity(pair.rmsDz, 'm')}</td>`;
  };
  return markup`<div class="scroll" tabindex="0" role="region" aria-label="Matrix of pass pairs"><table class="matrix">
<caption>Shift of one pass against another (below the diagonal) and RMS of height differences (above)</caption>
<thead><tr><th scope="col">Pass</th>${names.map((name) => markup`<th scope="col">${name}</th>`)}</tr></thead>
<tbody>${names.map((name, row) => markup`<tr><th scope="row">${name}</th>${names.map((_, column) => field(row, column))}</tr>`)}</tbody></table></div>
${full > 0 && markup`<p class="note n">An arrow shows the horizontal shift of the later pass in the list against the earlier one, in a circle of radius ${quantity(full, 'm')}; the bar beside it shows the shift in height.</p>`}`;
}

function pairTable(pairs: readonly PassPairLine[]): Markup {
  const components = pairs.flatMap((pair) => pair.shift);
  const largest = Math.max(0, ...components.map((value) => Math.abs(value ?? 0)));
  const full = largest > 0 ? roundStep(largest) : 0;
  const scale = columnScale(components, 'm');
  const columns = [
    { title: 'Pass a' },
    { title: 'Pass b' },
    { title: 'Places compared', unit: 'count' },
    { title: 'Mean dz', unit: 'm', signed: true },
    { title: 'RMS dz', unit: 'm' },
    { title: 'Largest dz', unit: 'm' },
    { title: `Shift x, y, z in ${scale.label}` },
    { title: 'Shift drawn' },
  ];
  const rows = pairs.map((pair) => [
    pair.a,
    pair.b,
    pair.cells,
    pair.meanDz,
    pair.rmsDz,
    pair.maxDz,
    markup`${['x', 'y', 'z'].map((name, i) => markup`<div class="pair n">${name} ${shiftText(pair, i, scale)}</div>`)}`,
    shiftArrow(pair, full),
  ]);
  return markup`${dataTable('Pass pairs', columns, rows)}
<p class="note">The shift is b minus a with its standard deviation. An axis is "not observable" where the surfaces in the overlap do not constrain the shift along it; a bare road, for example, does not constrain the shift along the road. ${full > 0 && `The circle has a radius of ${quantity(full, 'm')}; the arrow is the horizontal shift, the bar beside it the shift in height.`}</p>`;
}

function shiftText(pair: PassPairLine, index: number, scale: ReturnType<typeof scaleFor>): string {
  const value = pair.shift[index];
  if (!pair.observable[index] || value === null || value === undefined) return 'not observable';
  const std = pair.shiftStd[index];
  const text = inColumn(value, scale, true);
  return std === null || std === undefined ? text : `${text} ± ${inColumn(std, scale)}`;
}

/** An arrow for the horizontal shift in a circle of radius `full` metres, and a vertical bar for the shift in height. */
function shiftArrow(pair: PassPairLine, full: number): Markup {
  if (full === 0) return markup``;
  const [centre, radius, barX] = [34, 28, 84];
  const shown = (index: number) => (pair.observable[index] ? (pair.shift[index] ?? 0) : 0);
  const x = centre + (shown(0) / full) * radius;
  const y = centre - (shown(1) / full) * radius;
  const z = centre - (shown(2) / full) * radius;
  const known = ['x', 'y', 'z'].filter((_, i) => pair.observable[i]);
  return markup`<svg width="104" height="68" viewBox="0 0 104 68" role="img" aria-label="Shift drawn along ${known.length === 0 ? 'no axis' : known.join(', ')}">
<circle class="grid" cx="${centre}" cy="${centre}" r="${radius}" fill="none"/><line class="grid" x1="${centre - radius}" y1="${centre}" x2="${centre + radius}" y2="${centre}"/><line class="grid" x1="${centre}" y1="${centre - radius}" x2="${centre}" y2="${centre + radius}"/>
${(pair.observable[0] || pair.observable[1]) && markup`<line class="arrow" x1="${centre}" y1="${centre}" x2="${px(x)}" y2="${px(y)}"/><circle class="head" cx="${px(x)}" cy="${px(y)}" r="3.5"/>`}
<line class="grid" x1="${barX - 8}" y1="${centre}" x2="${barX + 8}" y2="${centre}"/>${pair.observable[2] && markup`<line class="arrow" x1="${barX}" y1="${centre}" x2="${barX}" y2="${px(z)}"/><circle class="head" cx="${barX}" cy="${px(z)}" r="3.5"/>`}</svg>`;
}
