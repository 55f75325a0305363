import type { Verdict } from '../checks/contract/check.js';
import { type PlacedSet, type PlacedValues, placeOf } from '../checks/contract/placed-values.js';
import { sectionBorders, stationAt } from '../geometry/stationing.js';
import type { Report, SeriesResult } from '../report/model.js';
import {
  ALL_TENTHS,
  type Borders,
  type IntervalValues,
  intervalValues,
  isWorse,
  keeps,
  PlaceTable,
} from './route-statistics.js';
import type { Stations } from './stationing.js';

type SectionRow = NonNullable<Report['sections']>[number];

/** So far before its end a section still has the station of its stretch, metres. */
const BEFORE = 1e-6;
/** A chart has at most so many values along a line. */
const MOST_VALUES = 400;

/**
 * Every requirement whose evidence has places, section by section. The limit of the whole is applied to each section. A section is met
 * only where the requirement was judged and its values cover all tenths of the section; it is not judged where the requirement could
 * not be judged, even where its values keep the limit.
 * @param complete whether all points of all files were read
 */
export function routeSections(
  judged: readonly { requirement: { id: string }; verdict: Verdict }[],
  stations: Stations,
  sectionMetres: number,
  complete: boolean,
): SectionRow[] {
  const borders = stations.lines.map(({ stationing }) => sectionBorders(stationing, stations.style, sectionMetres));
  const table = new PlaceTable(stations);
  return judged.flatMap(({ requirement, verdict }) => {
    const decided = complete && (verdict.state === 'pass' || verdict.state === 'fail');
    return placedOf(verdict.evidence, 'sections').flatMap((values) => {
      const { count, value, tenths } = worstOf(values, borders, table);
      const rows: SectionRow[] = [];
      let at = 0;
      for (const [line, list] of borders.entries()) {
        for (let k = 0; k + 1 < list.length; k++, at++) {
          const found = count[at] === 0 ? null : value[at];
          const good = found !== null && keeps(found, values);
          const covered = bitsOf(tenths[at]) / 10;
          const result =
            !decided || found === null
              ? 'not judged'
              : !good
                ? 'not met'
                : tenths[at] === ALL_TENTHS
                  ? 'met'
                  : 'not judged';
          rows.push({
            requirement: requirement.id,
            line: stations.lines[line].name,
            from: stations.label(line, list[k]),
            // The station back, where the section ends at a station equation.
            to: stations.label(line, list[k + 1] - BEFORE),
            fromDistance: list[k],
            toDistance: list[k + 1],
            result,
            value: found,
            limit: values.limit,
            sense: values.sense,
            unit: values.unit,
            figure: values.title,
            count: count[at],
            covered,
          });
        }
      }
      return rows;
    });
  });
}

/** Charts of the values of a requirement along each line of the route: one line of the chart for each set of values. */
export function routeSeries(verdict: Verdict, stations: Stations, sectionMetres: number): SeriesResult[] {
  const table = new PlaceTable(stations);
  return placedOf(verdict.evidence, 'charts').flatMap((values) => {
    const borders = stations.lines.map(({ stationing: { length } }) => {
      const step = Math.max(sectionMetres / 10, 2 * values.cell, length / MOST_VALUES);
      const steps = Math.max(1, Math.ceil(length / step));
      return Array.from({ length: steps + 1 }, (_, i) => (length * i) / steps);
    });
    const sets = values.sets.map((set, i) => ({
      name: set.name,
      found: values.cell === 0 ? null : intervalValues(values, i, borders, table),
      set,
    }));
    return stations.lines.flatMap(({ name }, line) => {
      const axis = axisOf(stations, line);
      const lines = sets.flatMap(
        ({ name: setName, found, set }) =>
          (found ? chartLine(setName, found, borders, line, axis.at) : singleValues(set, line, stations, axis.at)) ??
          [],
      );
      if (lines.length === 0) return [];
      return [
        {
          // Single values are shown as they are, not as the figure of a section.
          title: `${values.cell === 0 ? lines[0].name : values.title} along ${name}`,
          unit: values.unit,
          along: { title: axis.title, unit: 'm' as const },
          lines,
          limit: values.limit,
          sense: values.sense,
        },
      ];
    });
  });
}

/** The horizontal axis of a chart: stations where they run on along the line, otherwise metres from its begin. */
function axisOf(stations: Stations, line: number): { title: string; at(distance: number): number } {
  const { name, stationing } = stations.lines[line];
  if (stations.by === 'distance-driven') return { title: 'distance driven', at: (distance) => distance };
  if (stationing.equations.every(({ internal }) => internal === stationing.startStation))
    return { title: `station on ${name}`, at: (distance) => stationAt(stationing, distance) };
  return { title: `distance from the begin of ${name}`, at: (distance) => distance };
}

/** Values at the middle of their intervals, ascending along the axis; none where the line has no value. */
function chartLine(
  name: string,
  { count, value }: IntervalValues,
  borders: Borders,
  line: number,
  at: (distance: number) => number,
): SeriesResult['lines'][number] | null {
  const first = borders.slice(0, line).reduce((sum, list) => sum + list.length - 1, 0);
  const list = borders[line];
  const points = list.slice(1).map((to, k) => ({
    x: at((list[k] + to) / 2),
    y: count[first + k] === 0 ? null : value[first + k],
  }));
  if (points.every(({ y }) => y === null)) return null;
  if (points[0].x > points[points.length - 1].x) points.reverse();
  return { name, x: points.map(({ x }) => x), y: points.map(({ y }) => y) };
}

/** Single values, such as the residuals of survey points, ascending along the axis; none where none is at the line. */
function singleValues(
  set: PlacedSet,
  line: number,
  stations: Stations,
  at: (distance: number) => number,
): SeriesResult['lines'][number] | null {
  const points = Array.from(set.value, (y, i) => {
    const where = placeOf(set, 0, i);
    const place = stations.place(where.x, where.y);
    return place?.line === line ? { x: at(place.distance), y } : null;
  }).filter((point) => point !== null);
  if (points.length === 0) return null;
  points.sort((a, b) => a.x - b.x || a.y - b.y);
  return { name: set.name, x: points.map(({ x }) => x), y: points.map(({ y }) => y) };
}

/** The worst of all sets in every interval. */
function worstOf(values: PlacedValues, borders: Borders, table: PlaceTable): IntervalValues {
  const all = values.sets.map((_, i) => intervalValues(values, i, borders, table));
  const total = borders.reduce((sum, list) => sum + list.length - 1, 0);
  const worst: IntervalValues = {
    count: new Float64Array(total),
    value: new Float64Array(total).fill(Number.NaN),
    tenths: new Uint16Array(total),
  };
  for (const one of all) {
    for (let at = 0; at < total; at++) {
      if (one.count[at] === 0) continue;
      if (worst.count[at] === 0 || isWorse(one.value[at], worst.value[at], values.sense))
        worst.value[at] = one.value[at];
      worst.count[at] += one.count[at];
      worst.tenths[at] |= one.tenths[at];
    }
  }
  return worst;
}

function placedOf(evidence: Verdict['evidence'], use: 'sections' | 'charts'): PlacedValues[] {
  return evidence
    .filter((one) => one.kind === 'placed-values')
    .filter((one) => one.sets.length > 0 && (one.use === undefined || one.use === use));
}

function bitsOf(mask: number): number {
  let bits = 0;
  for (let rest = mask; rest > 0; rest >>= 1) bits += rest & 1;
  return bits;
}
