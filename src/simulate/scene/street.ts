import { hashed } from './random.js';

/** What bounds the street on one side: house fronts, the edge of a quay with water below, or nothing within reach. */
type StreetSide = 'facade' | 'quay' | 'open';

/**
 * A street in its own frame: `u` along it, `v` to the left, metres. Every surface is a plane, so that its heights are exact:
 * height = heightAtOrigin + grade u + profile(v).
 */
export interface StreetOptions {
  /** World easting and northing of u = 0, v = 0 (the middle of the carriageway). */
  origin: readonly [number, number];
  /** Direction of u, degrees counter-clockwise from east. */
  headingDegrees: number;
  heightAtOrigin: number;
  /** Rise along u, metres per metre. */
  grade: number;
  /** Fall of the carriageway to the left, metres per metre; to both sides when `crowned`. */
  crossfall: number;
  crowned: boolean;
  roadWidth: number;
  kerbHeight: number;
  pavementWidth: number;
  /** Rise of the pavement away from the kerb, metres per metre. */
  pavementFall: number;
  left: StreetSide;
  right: StreetSide;
  facadeHeight: number;
  /** Length of a bay of the facade; each bay has one recess, so that walls are along and across the street. */
  bayLength: number;
  /** Thin posts on the left pavement, metres apart; 0 for none. */
  poleSpacing: number;
  /** Trees on the right pavement, metres apart; 0 for none. */
  treeSpacing: number;
  seed: number;
}

/** A street with all values derived from its options. */
export interface Street extends StreetOptions {
  cos: number;
  sin: number;
  /** Distance of facade or quay edge from the middle. */
  sideOffset: number;
}

/** Ground materials; walls and obstacles follow. The number indexes the tables of the scanner. */
export const Material = {
  road: 0,
  kerb: 1,
  pavement: 2,
  front: 3,
  back: 4,
  side: 5,
  pole: 6,
  trunk: 7,
  crown: 8,
  marking: 9,
  /** Nothing there: no return. */
  sky: 10,
} as const;

/** Radius of a lamp post, metres. */
export const POLE_RADIUS = 0.08;
/** Height of a lamp post, metres. */
export const POLE_HEIGHT = 5;
/** Radius of a tree trunk, metres. */
export const TRUNK_RADIUS = 0.15;
/** Height of a tree trunk, metres. */
export const TRUNK_HEIGHT = 2.6;
/** Radius of a tree crown, metres. */
export const CROWN_RADIUS = 1.2;

/** A street with the usual dimensions: 8 m carriageway, 2.5 % crossfall, 12 cm kerbs, house fronts on both sides. */
export function createStreet(options: Partial<StreetOptions> = {}): Street {
  const all: StreetOptions = {
    origin: [561_025, 5_932_200],
    headingDegrees: 0,
    heightAtOrigin: 3.2,
    grade: 0.006,
    crossfall: 0.025,
    crowned: false,
    roadWidth: 8,
    kerbHeight: 0.12,
    pavementWidth: 2.5,
    pavementFall: 0.02,
    left: 'facade',
    right: 'facade',
    facadeHeight: 7,
    bayLength: 8,
    poleSpacing: 14,
    treeSpacing: 18,
    seed: 1,
    ...options,
  };
  const angle = (all.headingDegrees * Math.PI) / 180;
  return {
    ...all,
    cos: Math.cos(angle),
    sin: Math.sin(angle),
    sideOffset: all.roadWidth / 2 + all.pavementWidth,
  };
}

/** Easting and northing of u, v. */
export function toWorld(street: Street, u: number, v: number): [number, number] {
  return [street.origin[0] + u * street.cos - v * street.sin, street.origin[1] + u * street.sin + v * street.cos];
}

/** u, v of an easting and northing. */
export function toLocal(street: Street, x: number, y: number): [number, number] {
  const dx = x - street.origin[0];
  const dy = y - street.origin[1];
  return [dx * street.cos + dy * street.sin, dy * street.cos - dx * street.sin];
}

/** Height of the ground across the street, relative to the middle line. */
export function profileHeight(street: Street, v: number): number {
  const half = street.roadWidth / 2;
  const clamped = Math.max(-half, Math.min(half, v));
  const road = -street.crossfall * (street.crowned ? Math.abs(clamped) : clamped);
  const beyond = Math.abs(v) - half;
  return beyond <= 0 ? road : road + street.kerbHeight + street.pavementFall * beyond;
}

/** Height of the ground at u, v, also below obstacles. */
export function groundHeight(street: Street, u: number, v: number): number {
  return street.heightAtOrigin + street.grade * u + profileHeight(street, v);
}

/**
 * Exact height of the ground at a world position; null inside the houses and beyond the quay edge. On the kerb line itself
 * the carriageway is meant.
 */
export function surfaceHeight(street: Street, x: number, y: number): number | null {
  const [u, v] = toLocal(street, x, y);
  const side = v >= 0 ? street.left : street.right;
  const beyond = Math.abs(v) - street.sideOffset;
  if (beyond > 0 && side === 'quay') return null;
  if (beyond > 0 && side === 'facade') {
    const bay = Math.floor(u / street.bayLength);
    const recess = recessOf(street, v >= 0, bay);
    if (u < recess.from || u > recess.to || beyond > recess.depth) return null;
  }
  return groundHeight(street, u, v);
}

/** The recess of one bay of the facade. Lengths in metres. */
export interface Recess {
  /** Along the street, absolute u. */
  from: number;
  to: number;
  depth: number;
}

/** The recess of a bay: place, width and depth differ from bay to bay, drawn from the seed. */
export function recessOf(street: Street, left: boolean, bay: number): Recess {
  const index = bay * 2 + (left ? 1 : 0);
  const from = (bay + 0.15 + 0.2 * hashed(street.seed, index)) * street.bayLength;
  const width = (0.35 + 0.2 * hashed(street.seed + 1, index)) * street.bayLength;
  return { from, to: from + width, depth: 0.9 + 0.6 * hashed(street.seed + 2, index) };
}

/** Where a horizontal line meets a wall. Lengths in metres. */
export interface WallHit {
  /** Horizontal distance from the scanner. */
  distance: number;
  material: number;
}

/**
 * Where a horizontal line from u0, v0 in the unit direction hu, hv first meets the facade of its side. `hit` is written,
 * so that nothing is allocated a scan line.
 */
export function meetFacade(street: Street, u0: number, v0: number, hu: number, hv: number, hit: WallHit): void {
  const sign = hv > 0 ? 1 : -1;
  const front = (sign * street.sideOffset - v0) / hv;
  const uFront = u0 + front * hu;
  const recess = recessOf(street, hv > 0, Math.floor(uFront / street.bayLength));
  if (uFront < recess.from || uFront > recess.to) {
    hit.distance = front;
    hit.material = Material.front;
    return;
  }
  const back = (sign * (street.sideOffset + recess.depth) - v0) / hv;
  const uBack = u0 + back * hu;
  if (uBack >= recess.from && uBack <= recess.to) {
    hit.distance = back;
    hit.material = Material.back;
    return;
  }
  hit.distance = ((uBack < recess.from ? recess.from : recess.to) - u0) / hu;
  hit.material = Material.side;
}

/** Foot of pole `index`: on the left pavement, near the kerb. */
export function polePlace(street: Street, index: number): [number, number] {
  return [(index + 0.5) * street.poleSpacing, street.roadWidth / 2 + 0.4];
}

/** Foot of tree `index`: on the right pavement. */
export function treePlace(street: Street, index: number): [number, number] {
  return [(index + 0.35) * street.treeSpacing, -(street.roadWidth / 2 + 1.3)];
}
