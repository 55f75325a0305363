import { driveStreet, type VehicleDrive } from '../drive/drive-street.js';
import { usualDrives } from '../scene/drives.js';
import type { Street } from '../scene/street.js';
import { toWorld } from '../scene/street.js';
import type { DemoFaults } from './demo-plan.js';

/** Half of the street that is driven and scanned, metres. */
export const DEMO_HALF_LENGTH = 32;
/** Station of the begin of the planned route, metres. */
const FIRST_STATION = 3200;
/** Lane of each pass, and its direction along the street. */
const LEGS = [
  { lane: -2, direction: 1 },
  { lane: 2, direction: -1 },
  { lane: 2.6, direction: 1 },
] as const;

/** The drive of the demo: three passes, an alignment before and after, and an outage in the third pass. */
export function demoDrive(street: Street, { outageMetres, noClosingAlignment }: DemoFaults): VehicleDrive {
  const [{ lineSpacing, pattern }] = usualDrives({ passes: 1, density: 66 });
  const alignment = { standSeconds: 40, loops: 2 };
  return driveStreet({
    street,
    from: -DEMO_HALF_LENGTH,
    to: DEMO_HALF_LENGTH,
    legs: LEGS,
    lineSpacing,
    pattern,
    alignmentBefore: alignment,
    alignmentAfter: noClosingAlignment ? null : alignment,
    outages: outageMetres ? [{ leg: 2, fromMetres: 20, toMetres: 20 + outageMetres }] : [],
  });
}

/** The planned route as GeoJSON, in the projected coordinates of the cloud. */
export function routeJson(street: Street): string {
  const ends = [-DEMO_HALF_LENGTH + 7, DEMO_HALF_LENGTH - 7].map((u) =>
    toWorld(street, u, 0).map((value) => Math.round(value * 1000) / 1000),
  );
  const collection = {
    type: 'FeatureCollection',
    crs: { type: 'name', properties: { name: 'urn:ogc:def:crs:EPSG::25832' } },
    features: [
      {
        type: 'Feature',
        properties: { name: 'Quay Road', startStation: FIRST_STATION, lanes: 2, plannedPasses: 3, direction: 'both' },
        geometry: { type: 'LineString', coordinates: ends },
      },
    ],
  };
  return `${JSON.stringify(collection, null, 2)}\n`;
}
