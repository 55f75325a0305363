import { grouped } from '../cloud/text.js';
import type { DeliveredFile } from '../delivery/delivery.js';
import { Fault } from '../fault.js';
import { KeyTable } from '../measure/cells/key-table.js';
import { type MeasuredBatch, QUANTA_PER_METRE } from '../measure/contract/measurement.js';

/** Edge of the squares that are counted, metres. */
const SQUARE = 64;
/** Points that follow one another, at most BLOCK_POINTS, are scattered when they are in more squares than this: 8 km2. */
const MOST_SQUARES = 2048;
/** A file may hold its points in any order within the extent of its header if they fill it, a square metre, */
const LEAST_DENSITY = 0.01;
/** or if it is no larger than this, square metres: thinned clouds of a town for a first look are. */
const TOWN = 100e6;

/** West, south, east and north, metres. */
export type Extent = readonly [number, number, number, number];

/** The extent within which points may follow one another from anywhere to anywhere; null for a file whose header claims too much for that. */
export function coherenceLimit({ header, planUnit }: DeliveredFile): Extent | null {
  if (!header) return null;
  const [west, south, east, north] = [header.min[0], header.min[1], header.max[0], header.max[1]].map(
    (v) => v * planUnit,
  );
  const area = (east - west) * (north - south);
  return area <= TOWN || header.pointCount >= LEAST_DENSITY * area ? [west - 1, south - 1, east + 1, north + 1] : null;
}

/**
 * Refuses points that are strewn over a country: what is kept by cell would need memory without end. Scanners, and writers
 * that sort, put near points one after the other; those that do not keep within an extent that the points fill. Looks at
 * the batch alone, so that it does not depend on how points were split over workers.
 * @throws Fault `points-scattered`
 */
export function refuseScattered(
  { box, count, east, north }: MeasuredBatch,
  roaming: Extent | null,
  where: string,
): void {
  const [w, s, , e, n] = [...box].map((v) => v / QUANTA_PER_METRE);
  const wide = (e - w) * (n - s);
  if (!(wide > MOST_SQUARES * SQUARE * SQUARE)) return;
  if (roaming && w >= roaming[0] && s >= roaming[1] && e <= roaming[2] && n <= roaming[3]) return;
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
