import type { PassPairResult, Report } from '../model.js';
import { columnScale, quantity, type scaleFor } from '../quantity.js';
import { px, roundStep } from './axis.js';
import { type Markup, markup } from './markup.js';
import { dataTable } from './table.js';

/** Passes and how they agree with each other, with the shift of each pair as an arrow. */
export function passSection(report: Report): Markup {
  if (report.passes.length === 0 && report.passPairs.length === 0) return markup``;
  return markup`<h2 id="passes">Passes</h2>
${dataTable(
  'Passes',
  [{ title: 'Pass' }, { title: 'Points', unit: 'count' }],
  report.passes.map((pass) => [pass.pass, pass.points]),
)}
${report.passPairs.length > 0 && pairTable(report.passPairs)}`;
}

function pairTable(pairs: readonly PassPairResult[]): Markup {
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
    markup`${['x', 'y', 'z'].map((name, i) => markup`<div class="pair">${name} ${shiftText(pair, i, scale)}</div>`)}`,
    shiftArrow(pair, full),
  ]);
  return markup`${dataTable('Pass pairs', columns, rows)}
<p class="note">The shift is b minus a with its standard deviation. An axis is "not revealed" where the surfaces in the overlap do not show a shift along it, as a bare road shows none along itself. ${full > 0 && `The ring is ${quantity(full, 'm')}; the arrow is the shift in plan, the bar beside it the shift in height.`}</p>`;
}

function shiftText(pair: PassPairResult, index: number, scale: ReturnType<typeof scaleFor>): string {
  const value = pair.shift[index];
  if (!pair.observable[index] || value === null || value === undefined) return 'not revealed';
  const std = pair.shiftStd[index];
  const text = `${value > 0 ? '+' : ''}${(value * scale.factor).toFixed(scale.decimals)}`;
  return std === null || std === undefined ? text : `${text} ± ${(std * scale.factor).toFixed(scale.decimals)}`;
}

/** Plan arrow inside a ring of radius `full` metres, and an upright bar for the height. */
function shiftArrow(pair: PassPairResult, full: number): Markup {
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
