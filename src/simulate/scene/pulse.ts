import type { SceneColumns } from '../writer/point-columns.js';
import type { Random } from './random.js';
import type { PassVehicle, ScanOptions, ScanPass } from './scan-options.js';
import type { ScanProfile } from './scan-profile.js';
import type { Street } from './street.js';
import { Material, POLE_RADIUS, TRUNK_RADIUS } from './street.js';
import { turnBeam } from './turn-beam.js';

/** Class and intensity by material: road surface 11, ground 2, building 6, unclassified 1, high vegetation 5. */
const CLASSES = Uint8Array.of(11, 2, 2, 6, 6, 6, 1, 5, 5, 11);
const INTENSITIES = Uint16Array.of(8500, 21000, 19000, 30000, 27000, 28500, 44000, 15000, 24000, 52000);

/** Everything one pass is made with; the hot loops read it, `emit` writes to the block. */
export interface Scan {
  options: ScanOptions;
  street: Street;
  random: Random;
  block: SceneColumns;
  sink: (block: SceneColumns) => void;
  pass: ScanPass;
  noise: number;
  beam: boolean;
  perMetre: number;
  clip: readonly [number, number, number, number];
  from: number;
  to: number;
  channel: number;
  /** Points along the line against the ground, by material, for the same density. */
  weights: Float64Array;
  /** Place of the scanner. */
  u0: number;
  v0: number;
  eye: number;
  /** Direction of the half line. */
  hu: number;
  hv: number;
  /** Normal at the point about to be emitted. */
  nu: number;
  nv: number;
  nz: number;
  profile: ScanProfile;
}

/** One pulse towards a surface point: obstacles in front take it, crowns let part of it through. */
export function shoot(scan: Scan, s: number, z: number, material: number, time: number): void {
  const u = scan.u0 + s * scan.hu;
  if (u < scan.from - 2 || u > scan.to + 2) return;
  const { profile, random } = scan;
  let inCrown = 0;
  let crownLow = 0;
  let crownHigh = 0;
  for (let k = 0; k < profile.obstacles; k++) {
    const along = profile.along[k];
    if (profile.kind[k] === Material.crown) {
      const range = Math.sqrt(s * s + z * z);
      const centre = (along * s + profile.low[k] * z) / range;
      const miss = along * along + profile.low[k] * profile.low[k] - centre * centre;
      const room = profile.high[k] * profile.high[k] - miss;
      if (room <= 0) continue;
      crownLow = (centre - Math.sqrt(room)) / range;
      crownHigh = Math.min((centre + Math.sqrt(room)) / range, 1);
      const chance = random.uniform();
      if (crownLow < 1) inCrown = chance < 0.25 ? 0 : chance < 0.75 ? 1 : 2;
      continue;
    }
    const radius = profile.kind[k] === Material.pole ? POLE_RADIUS : TRUNK_RADIUS;
    const near = along - Math.sqrt(radius * radius - profile.off[k] * profile.off[k]);
    const height = (z * near) / s;
    if (near >= s || height < profile.low[k] || height > profile.high[k]) continue;
    const across = near - along;
    // Radial normal of the post; `off` is the post's place right of the line's left-hand normal.
    scan.nu = (across * scan.hu + profile.off[k] * scan.hv) / radius;
    scan.nv = (across * scan.hv - profile.off[k] * scan.hu) / radius;
    scan.nz = 0;
    emit(scan, near, height, profile.kind[k], 1, 1, time);
    return;
  }
  const open = material === Material.sky;
  if (inCrown === 0) {
    if (open) return;
    setNormal(scan, s, material);
    emit(scan, s, z, material, 1, 1, time);
    return;
  }
  const through = random.uniform() < 0.5 && crownHigh < 1 && !open ? 1 : 0;
  const returns = inCrown + through;
  let at = crownLow;
  for (let k = 1; k <= inCrown; k++) {
    at += ((crownHigh - at) / (inCrown - k + 1)) * random.uniform();
    scan.nu = 0;
    scan.nv = 0;
    scan.nz = 1;
    emit(scan, s * at, z * at, Material.crown, k, returns, time);
  }
  if (through === 1) {
    setNormal(scan, s, material);
    emit(scan, s, z, material, returns, returns, time);
  }
}

function setNormal(scan: Scan, s: number, material: number): void {
  const { street } = scan;
  if (material === Material.road || material === Material.pavement) {
    const side = scan.hv > 0 ? 1 : -1;
    const fall = street.crowned && scan.v0 + s * scan.hv < 0 ? -street.crossfall : street.crossfall;
    const rise = material === Material.pavement ? street.pavementFall * side : -fall;
    const length = Math.sqrt(1 + rise * rise + street.grade * street.grade);
    scan.nu = -street.grade / length;
    scan.nv = -rise / length;
    scan.nz = 1 / length;
    return;
  }
  scan.nu = material === Material.side ? 1 : 0;
  scan.nv = material === Material.side ? 0 : 1;
  scan.nz = 0;
}

/** Adds noise, faults of the pass and the turn to the world, and stores the return. */
function emit(
  scan: Scan,
  s: number,
  z: number,
  material: number,
  returnNumber: number,
  returnCount: number,
  seconds: number,
): void {
  const { street, pass, random, clip } = scan;
  const faults = pass.faults;
  let du = s * scan.hu;
  let dv = s * scan.hv;
  let dz = z;
  if (scan.noise > 0) {
    const noise = scan.noise * random.normal();
    if (scan.beam) {
      const factor = 1 + noise / Math.sqrt(s * s + z * z);
      du *= factor;
      dv *= factor;
      dz *= factor;
    } else {
      du += noise * scan.nu;
      dv += noise * scan.nv;
      dz += noise * scan.nz;
    }
  }
  let intensity = INTENSITIES[material];
  const uTrue = scan.u0 + du;
  if (uTrue < scan.from || uTrue >= scan.to) return;
  if (material === Material.road && Math.abs(scan.v0 + dv) < 0.06 && uTrue - Math.floor(uTrue / 6) * 6 < 3) {
    intensity = INTENSITIES[Material.marking];
  }
  let time = pass.startTime + seconds;
  let shiftX = 0;
  let shiftY = 0;
  let shiftZ = 0;
  if (faults) {
    if (faults.rollRadians) {
      const cos = Math.cos(faults.rollRadians);
      const sin = Math.sin(faults.rollRadians);
      const turned = dv * cos - dz * sin;
      dz = dv * sin + dz * cos;
      dv = turned;
    }
    if (faults.shift) [shiftX, shiftY, shiftZ] = faults.shift;
    const { drift, step } = faults;
    if (drift && seconds > drift.from) shiftZ += drift.metresPerSecond * (Math.min(seconds, drift.to) - drift.from);
    if (step && seconds >= step.at) {
      time += step.gapSeconds;
      shiftZ += step.dz;
    }
  }
  if (pass.vehicle) {
    time = pass.vehicle.stampAt(seconds);
    seenFromVehicle(scan, pass.vehicle, seconds, du, dv, dz);
    [du, dv, dz] = seen;
  }
  const u = scan.u0 + du;
  const v = scan.v0 + dv;
  let x = street.origin[0] + u * street.cos - v * street.sin + shiftX;
  let y = street.origin[1] + u * street.sin + v * street.cos + shiftY;
  let up = scan.eye + dz + shiftZ;
  const perMetre = scan.perMetre;
  if (perMetre > 0) {
    x = Math.round(x * perMetre) / perMetre;
    y = Math.round(y * perMetre) / perMetre;
    up = Math.round(up * perMetre) / perMetre;
  }
  if (x < clip[0] || y < clip[1] || x >= clip[2] || y >= clip[3]) return;
  const block = scan.block;
  const i = block.count++;
  block.x[i] = x;
  block.y[i] = y;
  block.z[i] = up;
  block.intensity[i] = intensity + (random.word() >> 22);
  block.returnNumber[i] = returnNumber;
  block.returnCount[i] = returnCount;
  block.classification[i] = CLASSES[material];
  block.scannerChannel[i] = scan.channel;
  // Negative to the left of travel, in steps of 0.006 degree from the nadir (LAS 1.4 R15, section 2.6).
  const left = scan.hv * pass.direction > 0 ? -1 : 1;
  block.scanAngle[i] = Math.round((left * Math.atan2(s, -z) * 180) / Math.PI / 0.006);
  block.pointSourceId[i] = pass.pointSourceId;
  block.gpsTime[i] = time;
  if (block.count === block.x.length) scan.sink(block);
}

const errors = new Float64Array(6);
const seen = new Float64Array(3);

/**
 * Where a return seems to be from the scanner, into `seen`: the error of the mounting turns the beam about the scanner, the error of
 * attitude turns lever arm and beam about the reference point, the error of position moves all.
 */
function seenFromVehicle(
  { pass, channel }: Scan,
  { leverArms, mountingErrors, errorAt }: PassVehicle,
  seconds: number,
  du: number,
  dv: number,
  dz: number,
): void {
  const { direction } = pass;
  const lever = leverArms[channel];
  const [roll, pitch, heading] = mountingErrors[channel];
  errorAt(seconds, errors);
  seen[0] = direction * du;
  seen[1] = direction * dv;
  seen[2] = dz;
  turnBeam(seen, roll, pitch, heading);
  for (let k = 0; k < 3; k++) seen[k] += lever[k];
  turnBeam(seen, errors[3], errors[4], errors[5]);
  for (let k = 0; k < 3; k++) seen[k] += errors[k] - lever[k];
  seen[0] *= direction;
  seen[1] *= direction;
}
