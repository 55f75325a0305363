import type { Report } from '../model.js';
import { quantity } from '../quantity.js';
import { type Cell, dataTable } from './html-table.js';
import { type Markup, markup } from './markup.js';

const SHAPES = { met: '✓', 'not met': '✗', 'not judged': '-' } as const;
/** Rows shown; sections.csv and report.json have all. */
const MOST_ROWS = 2000;

/** The lines of the route, and every requirement section by section. Empty without a route. */
export function routeSection(report: Report): Markup {
  const { stationing, sections } = report;
  if (!stationing || !sections) return markup``;
  return markup`${lineTable(stationing)}${sections.length > 0 && sectionTable(sections)}
<p class="note">The limit of the whole requirement is applied to each section of ${stationing.sectionMetres} m. A section is met only where the requirement was judged and its values cover the section; "not judged" is never met. ${withoutPlaces(report)}</p>`;
}

function withoutPlaces({ requirements, sections = [] }: Report): string {
  const shown = new Set(sections.map(({ requirement }) => requirement));
  const others = requirements.filter(({ id }) => !shown.has(id)).map(({ id }) => id);
  return others.length === 0
    ? ''
    : `Not judged by section, because they have no values with places: ${others.join(', ')}.`;
}

function lineTable({ lines }: NonNullable<Report['stationing']>): Markup {
  const columns = [
    { title: 'Line' },
    { title: 'From' },
    { title: 'To' },
    { title: 'Length', coordinate: 1 },
    { title: 'Driven' },
    { title: 'Lanes' },
    { title: 'Planned passes' },
  ];
  return dataTable(
    'Lines of the route',
    columns,
    lines.map(({ line, from, to, length, direction, lanes, plannedPasses }) => [
      line,
      from,
      to,
      length,
      direction,
      lanes === null ? null : String(lanes),
      plannedPasses === null ? null : String(plannedPasses),
    ]),
  );
}

/** A row for each section, a column for each requirement. */
function sectionTable(sections: NonNullable<Report['sections']>): Markup {
  const ids = [...new Set(sections.map(({ requirement }) => requirement))];
  const rows = new Map<string, { head: Cell[]; cells: Map<string, Cell> }>();
  for (const { requirement, line, from, to, fromDistance, result, value, unit } of sections) {
    const key = JSON.stringify([line, fromDistance]);
    const row = rows.get(key) ?? { head: [`${line} ${from} to ${to}`], cells: new Map() };
    const text = `${SHAPES[result]} ${result}${value === null ? '' : `, ${quantity(value, unit)}`}`;
    row.cells.set(requirement, { text, sort: value });
    rows.set(key, row);
  }
  return dataTable(
    'Requirements by section',
    [{ title: 'Section' }, ...ids.map((title) => ({ title }))],
    [...rows.values()].map(({ head, cells }) => [...head, ...ids.map((id) => cells.get(id) ?? null)]),
    { most: MOST_ROWS },
  );
}
