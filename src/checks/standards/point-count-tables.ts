import type { Mark } from './mark.js';

/** Check points that a standard asks for, by the area of the project. Data, not law: editions differ. */
export interface PointCountTable {
  id: string;
  title: string;
  source: string;
  mark: Mark;
  /** Asked for whatever the area, and where the area is not known: in plan (or in space), on open ground, in vegetation. */
  least: PointCounts;
  /** Rising areas; the first row whose area is not exceeded holds. */
  rows: readonly (PointCounts & { squareKilometres: number })[];
  /** Beyond the last row: so many more for every started step. Null: as in the last row. */
  beyond: (PointCounts & { squareKilometres: number }) | null;
}

export interface PointCounts {
  horizontal: number;
  open: number;
  vegetated: number;
}

const alike = (points: number): PointCounts => ({ horizontal: points, open: points, vegetated: points });
const row = (squareKilometres: number, points: number) => ({ squareKilometres, ...alike(points) });
const split = (squareKilometres: number, horizontal: number, open: number, vegetated: number) => ({
  squareKilometres,
  horizontal,
  open,
  vegetated,
});

export const pointCountTables = {
  'asprs-2023-adopted': {
    id: 'asprs-2023-adopted',
    title: 'ASPRS Edition 2 as adopted in August 2023, table C.1',
    source:
      'rows of table C.1 recalled; they agree with the least number of 30 and the most of 120, both seen in transcripts',
    mark: 'memory',
    least: alike(30),
    rows: [1, 2, 3, 4, 5, 6, 7, 8, 9, 10].map((k) => row(1000 * k, 20 + 10 * k)),
    beyond: null,
  },
  'asprs-2023-draft': {
    id: 'asprs-2023-draft',
    title: 'ASPRS Edition 2, draft of February 2023, table C.1',
    source: 'notes of an open calculator that was tested at every edge of the table',
    mark: 'read-S',
    least: alike(30),
    rows: [500, 750, 1000, 1250, 1500, 1750, 2000, 2250, 2500].map((area, k) => row(area, 30 + 5 * k)),
    beyond: null,
  },
  'asprs-2014': {
    id: 'asprs-2014',
    title: 'ASPRS Edition 1 (2014), table C.1',
    source:
      'rows recalled; 100 vertical points for the first 2,500 km2, then 3 and 2 more for every 500 km2, seen in PE&RS August 2016, which quotes p. A20',
    mark: 'memory',
    least: { horizontal: 20, open: 20, vegetated: 5 },
    rows: [
      split(500, 20, 20, 5),
      split(750, 25, 20, 10),
      split(1000, 30, 25, 15),
      split(1250, 35, 30, 20),
      split(1500, 40, 35, 25),
      split(1750, 45, 40, 30),
      split(2000, 50, 45, 35),
      split(2250, 55, 50, 40),
      split(2500, 60, 55, 45),
    ],
    beyond: { squareKilometres: 500, horizontal: 0, open: 3, vegetated: 2 },
  },
  'nssda-1998': {
    id: 'nssda-1998',
    title: 'NSSDA (FGDC-STD-007.3-1998), 3.2.2',
    source: 'FGDC-STD-007.3-1998, 3.2.2',
    mark: 'read-T',
    least: alike(20),
    rows: [],
    beyond: null,
  },
} as const satisfies Record<string, PointCountTable>;

/** Check points asked for an area in square metres; the least number where the area is not known. */
export function pointsAsked(table: PointCountTable, area: number | null): PointCounts {
  const { rows, beyond, least } = table;
  if (area === null || rows.length === 0) return least;
  const squareKilometres = area / 1e6;
  const found = rows.find((r) => squareKilometres <= r.squareKilometres);
  if (found) return found;
  const last = rows[rows.length - 1];
  if (beyond === null) return last;
  const steps = Math.ceil((squareKilometres - last.squareKilometres) / beyond.squareKilometres);
  return {
    horizontal: last.horizontal + steps * beyond.horizontal,
    open: last.open + steps * beyond.open,
    vegetated: last.vegetated + steps * beyond.vegetated,
  };
}
