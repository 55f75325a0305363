import { describe, expect, it } from 'vitest';
import { pointCountTables, pointsAsked } from '../../../src/checks/standards/point-count-tables.js';

const km2 = (area: number) => area * 1e6;

describe('check points by area', () => {
  // Draft of Edition 2, February 2023, table C.1, as notes of an open calculator have it; the table ends at 2,500 km2.
  it.each([
    [500, 30],
    [501, 35],
    [750, 35],
    [751, 40],
    [1000, 40],
    [2500, 70],
  ])('ASPRS Edition 2, draft: %s km2 ask for %s points', (area, points) => {
    expect(pointsAsked(pointCountTables['asprs-2023-draft'], km2(area)).open).toBe(points);
  });

  it('its example of Annex C.3: 1,500 km2, 500 of them in vegetation, 40 + 30 points', () => {
    const table = pointCountTables['asprs-2023-draft'];
    expect(pointsAsked(table, km2(1000)).open + pointsAsked(table, km2(500)).vegetated).toBe(70);
  });

  // 30 at least and 120 at most: seen in transcripts; the steps between from memory.
  it('ASPRS Edition 2 as adopted: 30 at least, 120 at most', () => {
    const table = pointCountTables['asprs-2023-adopted'];
    expect([0.01, 1000, 1001, 9000, 9001, 50000].map((area) => pointsAsked(table, km2(area)).open)).toEqual([
      30, 30, 40, 110, 120, 120,
    ]);
  });

  // 100 vertical points for the first 2,500 km2, then 5 for each further 500: PE&RS August 2016, quoting p. A20.
  it('ASPRS Edition 1: 100 vertical points for 2,500 km2 and five for every further 500', () => {
    const table = pointCountTables['asprs-2014'];
    const vertical = (area: number) => pointsAsked(table, km2(area)).open + pointsAsked(table, km2(area)).vegetated;
    expect(vertical(2500)).toBe(100);
    expect(vertical(2501)).toBe(105);
    expect(vertical(3000)).toBe(105);
    // 5,000 square miles, 12,949.94 km2: 21 started blocks
    expect(vertical(12949.94)).toBe(205);
    expect(pointsAsked(table, km2(12949.94)).horizontal).toBe(60);
  });

  it('NSSDA asks for 20 whatever the area (3.2.2), and an unknown area asks for the least', () => {
    expect(pointsAsked(pointCountTables['nssda-1998'], km2(9000)).horizontal).toBe(20);
    expect(pointsAsked(pointCountTables['asprs-2023-adopted'], null).horizontal).toBe(30);
    expect(pointsAsked(pointCountTables['asprs-2014'], null)).toMatchObject({ open: 20, vegetated: 5 });
  });

  it.each(Object.entries(pointCountTables))(
    '%s is named after itself, rises with the area and says its source',
    (id, table) => {
      expect(table.id).toBe(id);
      expect(table.source.length).toBeGreaterThan(10);
      expect(['read', 'read-T', 'read-S', 'computed', 'memory']).toContain(table.mark);
      const rows = [...table.rows] as { squareKilometres: number; open: number }[];
      rows.slice(1).forEach((row, k) => {
        expect(row.squareKilometres).toBeGreaterThan(rows[k].squareKilometres);
        expect(row.open).toBeGreaterThanOrEqual(rows[k].open);
      });
    },
  );
});
