import type { ConvexRing, Rectangle } from '../scene/areas.js';
import type { Street } from '../scene/street.js';
import { createStreet, toWorld } from '../scene/street.js';

/** What can be planted in the demo delivery; leave a key out and that part is sound. */
export interface DemoFaults {
  /** Pass 2 displaced against the others: east, north, up, metres. */
  passShift?: readonly [number, number, number];
  /** The whole cloud too high, metres. */
  verticalBias?: number;
  /** A hole in the carriageway. */
  void?: Rectangle;
  /** Points left a square metre in the south-eastern tile, exactly. */
  thinnedTo?: number;
  /** One check point surveyed too high by so much, metres. */
  blunder?: number;
  /** The header of the north-eastern tile claims so much more to the east than there is, metres. */
  headerExcess?: number;
  /** Metres of the third pass that are driven without satellites. */
  outageMetres?: number;
  /** The drive ends without standing and loops. */
  noClosingAlignment?: boolean;
  /** A fifth, small tile whose coordinate system record names the neighbouring zone. */
  foreignTile?: boolean;
}

/** The faults of `cloudassay demo`. */
export const DEMO_FAULTS: Required<DemoFaults> = {
  passShift: [0.03, -0.02, 0.025],
  verticalBias: 0.018,
  void: [561_010, 5_932_196.5, 561_013, 5_932_199],
  thinnedTo: 90,
  blunder: 0.35,
  headerExcess: 3.5,
  foreignTile: true,
  outageMetres: 30,
  noClosingAlignment: true,
};

/** Edge of a demo tile, metres. */
export const TILE_METRES = 25;
/** South-west corner of the delivery. */
export const DEMO_CORNER: readonly [number, number] = [561_000, 5_932_175];
/** Edge of the whole demo area, metres. */
export const DEMO_SIZE_METRES = 50;
/** Half length of the carriageway zone, along the street. */
const ZONE_HALF_LENGTH = 24;

/** The invented Quay Road: house fronts to the north, the quay edge to the south, 4 degrees off the grid. */
export function demoStreet(seed: number): Street {
  return createStreet({
    origin: [DEMO_CORNER[0] + 25, DEMO_CORNER[1] + 25],
    headingDegrees: 4,
    right: 'quay',
    facadeHeight: 5.5,
    seed,
  });
}

/** The carriageway between the kerbs, a metre and more away from the ends of the delivery. */
export function carriageway(street: Street): ConvexRing {
  const half = street.roadWidth / 2;
  return (
    [
      [-ZONE_HALF_LENGTH, -half],
      [ZONE_HALF_LENGTH, -half],
      [ZONE_HALF_LENGTH, half],
      [-ZONE_HALF_LENGTH, half],
    ] as const
  ).map(([u, v]) => {
    const [x, y] = toWorld(street, u, v);
    return [Math.round(x * 1000) / 1000, Math.round(y * 1000) / 1000] as const;
  });
}

/** Zones as GeoJSON in the projected coordinates of the cloud, said in the `crs` member of the 2008 edition. */
export function zonesJson(street: Street): string {
  const ring = carriageway(street);
  const collection = {
    type: 'FeatureCollection',
    crs: { type: 'name', properties: { name: 'urn:ogc:def:crs:EPSG::25832' } },
    features: [
      {
        type: 'Feature',
        properties: { name: 'carriageway' },
        geometry: { type: 'Polygon', coordinates: [[...ring, ring[0]]] },
      },
    ],
  };
  return `${JSON.stringify(collection, null, 2)}\n`;
}

/** Lowest density asked for, points a square metre. */
export const DEMO_MIN_DENSITY = 150;

/** What the spec of the demo asks of the drive. */
const DRIVE_REQUIREMENTS = [
  { id: 'TRJ-1', check: 'trajectory-quality', maxSigmaHorizontal: 0.05, maxSigmaHeight: 0.05, maxGap: 0.2 },
  {
    id: 'OUT-1',
    check: 'outages',
    maxSeconds: 2,
    note: 'The road has no bridge; longer losses of fixed position are driven again.',
  },
  {
    id: 'ALI-1',
    check: 'alignment',
    minStandSeconds: 30,
    minMetres: 50,
    minHeadingRange: 180,
    note: 'Half a minute of standing and a loop before and after the drive, as the method statement has it.',
  },
  { id: 'ROU-1', check: 'route-coverage', passes: true },
  { id: 'RAN-1', check: 'range', maxRange: 40, maxFarShare: 0.05 },
];

/** The acceptance spec of the demo: the limits of a 2 cm vertical class, and a density that so small a delivery can meet. */
export function demoSpecJson(drive: boolean): string {
  const spec = {
    spec: '1',
    title: 'Quay Road, Port of Lindholt: as-built capture by vehicle',
    crs: { horizontal: 'EPSG:25832', vertical: 'EPSG:5799', unit: 'metre' },
    passes: { by: 'point-source-id' },
    requirements: [
      { id: 'FMT-1', check: 'las-structure' },
      { id: 'HDR-1', check: 'header-agreement' },
      { id: 'CRS-1', check: 'crs', requireVertical: true },
      {
        id: 'ACC-V',
        check: 'vertical-accuracy',
        maxRmse: 0.02,
        minPoints: 30,
        maxMean: 0.005,
        radius: 0.3,
        decision: 'guarded',
        note: 'Vertical class 2 cm; mean within a quarter of the class.',
      },
      {
        id: 'REL-1',
        check: 'pass-agreement',
        maxRmsDz: 0.016,
        maxDz: 0.032,
        maxShift: 0.015,
        note: '0.8 and 1.6 times the vertical class; the shift is agreed in the contract.',
      },
      { id: 'REL-2', check: 'surface-precision', maxRms: 0.012, note: '0.6 times the vertical class.' },
      { id: 'DEN-1', check: 'density', cell: 1, min: DEMO_MIN_DENSITY, share: 0.98, zone: 'carriageway' },
      { id: 'GAP-1', check: 'voids', maxArea: 1, cell: 0.5, zone: 'carriageway' },
      { id: 'ATT-1', check: 'point-attributes' },
      { id: 'DUP-1', check: 'duplicates' },
      { id: 'TIL-1', check: 'tiling', size: TILE_METRES, name: 'quay_{x}_{y}' },
      ...(drive ? DRIVE_REQUIREMENTS : []),
    ],
  };
  return `${JSON.stringify(spec, null, 2)}\n`;
}
