import { grouped } from '../cloud/text.js';
import type { DeliveredFile } from '../delivery/delivery.js';
import { Fault } from '../fault.js';
import { KeyTable } from '../measure/cells/key-table.js';
import { type MeasuredBatch, QUANTA_PER_METRE } from '../measure/contract/measurement.js';

/** Edge of the squares that are counted, metres. */
const SQUARE = 64;
/** A batch of consecutive points, at most BLOCK_POINTS, is scattered when its points are in more squares than this: 8 km2. */
const MOST_SQUARES = 2048;
/** A file may have its points in any order within the extent of its header if it has at least so many points a square metre, */
const LEAST_DENSITY = 0.01;
/** or if the extent is not larger than this, square metres, as in thinned clouds of a town. */
const TOWN = 100e6;

/** West, south, east and north, metres. */
export type Extent = readonly [number, number, number, number];

/** The extent within which consecutive points may be far apart, metres; null where the extent of the header is too large for its points. */
export function coherenceLimit({ header, horizontalUnit }: DeliveredFile): Extent | null {
  if (!header) return null;
  const [west, south, east, north] = [header.min[0], header.min[1], header.max[0], header.max[1]].map(
    (v) => v * horizontalUnit,
  );
  const area = (east - west) * (north - south);
  return area <= TOWN || header.pointCount >= LEAST_DENSITY * area ? [west - 1, south - 1, east + 1, north + 1] : null;
}

/**
 * Refuses consecutive points that are scattered over a large area: values that are kept by cell would need too much memory.
 * Scanners and sorting programs write near points one after the other. The result depends on the batch alone, so that it
 * does not depend on how points are divided among workers.
 * @param limit extent within which consecutive points may be far apart, as `coherenceLimit` returns it
 * @throws Fault `points-scattered`
 */
export function refuseScattered({ box, count, east, north }: MeasuredBatch, limit: Extent | null, where: string): void {
  const [w, s, , e, n] = [...box].map((v) => v / QUANTA_PER_METRE);
  const wide = (e - w) * (n - s);
  if (!(wide > MOST_SQUARES * SQUARE * SQUARE)) return;
  if (limit && w >= limit[0] && s >= limit[1] && e <= limit[2] && n <= limit[3]) return;
  const squares = new KeyTable(MOST_SQUARES);
  const side = SQUARE * QUANTA_PER_METRE;
  for (let i = 0; i < count && squares.size <= MOST_SQUARES; i++) {
    squares.add(Math.floor(east[i] / side), Math.floor(north[i] / side), 0, 0);
  }
  if (squares.size <= MOST_SQUARES) return;
  throw new Fault({
    code: 'points-scattered',
    where,
    what: `${grouped(count)} points that follow one another are scattered over ${grouped(Math.round(wide / 1e6))} km2`,
    advice: 'Look for a wrong scale or unit in the header, and write the file again',
  });
}
