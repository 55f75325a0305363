import type { Street, WallHit } from './street.js';
import {
  CROWN_RADIUS,
  groundHeight,
  Material,
  meetFacade,
  POLE_HEIGHT,
  POLE_RADIUS,
  polePlace,
  profileHeight,
  TRUNK_HEIGHT,
  TRUNK_RADIUS,
  treePlace,
} from './street.js';

/** How far a line without facade reaches. */
const OPEN_REACH = 14;

/**
 * What half a scan plane sees: a chain of straight pieces, horizontal distance `s` from the scanner against height `z`
 * above it (negative below), seen at ever higher angles; and the obstacles standing in front of it.
 */
export interface ScanProfile {
  vertices: number;
  s: Float64Array;
  z: Float64Array;
  /** Material of the piece from vertex k to k + 1. */
  material: Uint8Array;
  obstacles: number;
  /** Distance along the line and off it, bottom and top (for crowns: centre and radius of the cut circle). */
  along: Float64Array;
  off: Float64Array;
  low: Float64Array;
  high: Float64Array;
  kind: Uint8Array;
}

const MAX_VERTICES = 12;
const MAX_OBSTACLES = 16;
const hit: WallHit = { distance: 0, material: 0 };

/** An empty profile, reused for every scan line. */
export function createProfile(): ScanProfile {
  return {
    vertices: 0,
    s: new Float64Array(MAX_VERTICES),
    z: new Float64Array(MAX_VERTICES),
    material: new Uint8Array(MAX_VERTICES),
    obstacles: 0,
    along: new Float64Array(MAX_OBSTACLES),
    off: new Float64Array(MAX_OBSTACLES),
    low: new Float64Array(MAX_OBSTACLES),
    high: new Float64Array(MAX_OBSTACLES),
    kind: new Uint8Array(MAX_OBSTACLES),
  };
}

/** Fills the profile seen from u0, v0 and height `eye` in the horizontal unit direction hu, hv. */
export function traceProfile(
  street: Street,
  u0: number,
  v0: number,
  eye: number,
  hu: number,
  hv: number,
  out: ScanProfile,
): void {
  const sign = hv > 0 ? 1 : -1;
  const side = hv > 0 ? street.left : street.right;
  const half = street.roadWidth / 2;
  const ground = (s: number) => groundHeight(street, u0 + s * hu, v0 + s * hv) - eye;
  out.vertices = 0;
  addVertex(out, 0, ground(0), Material.road);
  if (street.crowned && -v0 * sign > 0) addVertex(out, -v0 / hv, ground(-v0 / hv), Material.road);
  const kerb = (sign * half - v0) / hv;
  // Foot of the kerb from the carriageway, head from the pavement.
  const foot = street.heightAtOrigin + street.grade * (u0 + kerb * hu) + profileHeight(street, sign * half) - eye;
  addVertex(out, kerb, foot, Material.kerb);
  addVertex(out, kerb, foot + street.kerbHeight, Material.pavement);
  if (side === 'facade') meetFacade(street, u0, v0, hu, hv, hit);
  else hit.distance = side === 'quay' ? (sign * street.sideOffset - v0) / hv : kerb + OPEN_REACH;
  const end = hit.distance;
  const base = foot + street.kerbHeight + (street.grade * hu + street.pavementFall * Math.abs(hv)) * (end - kerb);
  // Without a wall the beam meets nothing: only obstacles return it.
  addVertex(out, end, base, side === 'facade' ? hit.material : Material.sky);
  addVertex(out, end, base + street.facadeHeight, Material.sky);
  out.obstacles = 0;
  if (hv > 0 && street.poleSpacing > 0) addPoles(street, u0, v0, eye, hu, hv, end, out);
  if (hv < 0 && street.treeSpacing > 0) addTrees(street, u0, v0, eye, hu, hv, end, out);
}

function addVertex(out: ScanProfile, s: number, z: number, material: number): void {
  const k = out.vertices++;
  out.s[k] = s;
  out.z[k] = z;
  out.material[k] = material;
}

function addObstacle(out: ScanProfile, along: number, off: number, low: number, high: number, kind: number): void {
  if (out.obstacles === MAX_OBSTACLES) return;
  const k = out.obstacles++;
  out.along[k] = along;
  out.off[k] = off;
  out.low[k] = low;
  out.high[k] = high;
  out.kind[k] = kind;
}

function addPoles(
  street: Street,
  u0: number,
  v0: number,
  eye: number,
  hu: number,
  hv: number,
  end: number,
  out: ScanProfile,
): void {
  const first = Math.floor((Math.min(u0, u0 + end * hu) - 1) / street.poleSpacing - 0.5);
  const last = Math.ceil((Math.max(u0, u0 + end * hu) + 1) / street.poleSpacing - 0.5);
  for (let index = first; index <= last; index++) {
    const [pu, pv] = polePlace(street, index);
    const along = (pu - u0) * hu + (pv - v0) * hv;
    const off = (pu - u0) * -hv + (pv - v0) * hu;
    if (along <= 0 || Math.abs(off) >= POLE_RADIUS) continue;
    const foot = groundHeight(street, pu, pv) - eye;
    addObstacle(out, along, off, foot, foot + POLE_HEIGHT, Material.pole);
  }
}

function addTrees(
  street: Street,
  u0: number,
  v0: number,
  eye: number,
  hu: number,
  hv: number,
  end: number,
  out: ScanProfile,
): void {
  const first = Math.floor((Math.min(u0, u0 + end * hu) - 2) / street.treeSpacing - 0.35);
  const last = Math.ceil((Math.max(u0, u0 + end * hu) + 2) / street.treeSpacing - 0.35);
  for (let index = first; index <= last; index++) {
    const [pu, pv] = treePlace(street, index);
    const along = (pu - u0) * hu + (pv - v0) * hv;
    const off = (pu - u0) * -hv + (pv - v0) * hu;
    if (along <= 0 || Math.abs(off) >= CROWN_RADIUS) continue;
    const foot = groundHeight(street, pu, pv) - eye;
    const centre = foot + TRUNK_HEIGHT + CROWN_RADIUS;
    addObstacle(out, along, off, centre, Math.sqrt(CROWN_RADIUS * CROWN_RADIUS - off * off), Material.crown);
    if (Math.abs(off) < TRUNK_RADIUS) addObstacle(out, along, off, foot, foot + TRUNK_HEIGHT, Material.trunk);
  }
}
