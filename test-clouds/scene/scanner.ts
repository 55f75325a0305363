import type { SceneColumns } from '../writer/point-columns.js';
import { createSceneColumns } from '../writer/point-columns.js';
import type { PassFaults } from './pass-faults.js';
import { Random } from './random.js';
import type { ScanProfile } from './scan-profile.js';
import { createProfile, traceProfile } from './scan-profile.js';
import type { Street } from './street.js';
import { CROWN_RADIUS, groundHeight, Material, POLE_RADIUS, TRUNK_RADIUS } from './street.js';

/**
 * One drive of the vehicle: a helical scan, line after line along the street, each line from the top of one side down
 * under the vehicle and up the other side.
 */
export interface ScanPass {
  pointSourceId: number;
  /** Where the vehicle drives: v of its track, +1 along u or -1 against it. */
  lane: number;
  direction: 1 | -1;
  /** Metres per second. */
  speed: number;
  /** GPS time of the first line, seconds, as stored. */
  startTime: number;
  /** Angle of each head's scan plane against the cross section, degrees; their order is the scanner channel. */
  headYaws: readonly number[];
  /** Travel between two lines of one head, metres: speed divided by lines per second. */
  lineSpacing: number;
  /** Equal angles, as a turning mirror gives them; or equal spacing on the surface, for an even density. */
  pattern: { by: 'angle'; stepDegrees: number } | { by: 'surface'; spacing: number };
  faults?: PassFaults;
}

export interface ScanOptions {
  street: Street;
  passes: readonly ScanPass[];
  /** Along the street, absolute u: what is scanned. Nothing outside is kept. */
  from: number;
  to: number;
  /** World rectangle kept: minimum easting and northing (inside), maximum (outside). */
  clip?: readonly [number, number, number, number];
  /** Range noise, standard deviation in metres, default 0.006. */
  noise?: number;
  /** Along the normal of the surface (default: the residual from the surface then has exactly this sigma), or the beam. */
  noiseAlong?: 'normal' | 'beam';
  /** Coordinates are rounded to this, metres, default 0.001; null leaves them alone. */
  resolution?: number | null;
  seed: number;
  blockPoints?: number;
}

/** Height of the scanner above the road. */
export const SCANNER_HEIGHT = 2.2;

/** Class and intensity by material: road surface 11, ground 2, building 6, unclassified 1, high vegetation 5. */
const CLASSES = Uint8Array.of(11, 2, 2, 6, 6, 6, 1, 5, 5, 11);
const INTENSITIES = Uint16Array.of(8500, 21000, 19000, 30000, 27000, 28500, 44000, 15000, 24000, 52000);

/** Everything one pass is made with; the hot loops read it, `emit` writes to the block. */
interface Scan {
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

/** Scans the street pass by pass and hands the points over block by block; the block is reused. Returns their number. */
export function scanStreet(options: ScanOptions, sink: (block: SceneColumns) => void): number {
  let total = 0;
  const block = createSceneColumns(options.blockPoints ?? 65_536);
  const counting = (full: SceneColumns) => {
    total += full.count;
    sink(full);
    full.count = 0;
  };
  options.passes.forEach((pass, index) => {
    scanPass(options, pass, new Random(options.seed * 1009 + index), block, counting);
  });
  if (block.count > 0) counting(block);
  return total;
}

/** Scans into one set of columns: for scenes of modest size. */
export function scanToColumns(options: ScanOptions): SceneColumns {
  let room = 65_536;
  let all = createSceneColumns(room);
  scanStreet(options, (block) => {
    if (all.count + block.count > room) {
      room = Math.max(room * 2, all.count + block.count);
      const larger = createSceneColumns(room);
      append(larger, all);
      all = larger;
    }
    append(all, block);
  });
  return all;
}

function append(target: SceneColumns, source: SceneColumns): void {
  const at = target.count;
  const n = source.count;
  target.x.set(source.x.subarray(0, n), at);
  target.y.set(source.y.subarray(0, n), at);
  target.z.set(source.z.subarray(0, n), at);
  target.intensity.set(source.intensity.subarray(0, n), at);
  target.returnNumber.set(source.returnNumber.subarray(0, n), at);
  target.returnCount.set(source.returnCount.subarray(0, n), at);
  target.classification.set(source.classification.subarray(0, n), at);
  target.scannerChannel.set(source.scannerChannel.subarray(0, n), at);
  target.scanAngle.set(source.scanAngle.subarray(0, n), at);
  target.pointSourceId.set(source.pointSourceId.subarray(0, n), at);
  target.gpsTime.set(source.gpsTime.subarray(0, n), at);
  target.count += n;
}

function scanPass(
  options: ScanOptions,
  pass: ScanPass,
  random: Random,
  block: SceneColumns,
  sink: (block: SceneColumns) => void,
): void {
  const { street } = options;
  const resolution = options.resolution === undefined ? 0.001 : options.resolution;
  const scan: Scan = {
    options,
    street,
    random,
    block,
    sink,
    pass,
    noise: options.noise ?? 0.006,
    beam: options.noiseAlong === 'beam',
    perMetre: resolution === null ? 0 : Math.round(1 / resolution),
    clip: options.clip ?? [-Infinity, -Infinity, Infinity, Infinity],
    from: options.from,
    to: options.to,
    channel: 0,
    u0: 0,
    v0: pass.lane,
    eye: 0,
    hu: 0,
    hv: 0,
    nu: 0,
    nv: 0,
    nz: 1,
    profile: createProfile(),
  };
  const heads = pass.headYaws.length;
  const steepest = Math.max(...pass.headYaws.map((yaw) => Math.abs(Math.tan((yaw * Math.PI) / 180))));
  const lead = (street.sideOffset + Math.abs(pass.lane) + 2) * steepest;
  const length = options.to - options.from + 2 * lead;
  const start = pass.direction > 0 ? options.from - lead : options.to + lead;
  const slotTravel = pass.lineSpacing / heads;
  const slots = Math.floor(length / slotTravel);
  const slotSeconds = slotTravel / pass.speed;
  for (let slot = 0; slot < slots; slot++) {
    scan.channel = slot % heads;
    const yaw = (pass.headYaws[scan.channel] * Math.PI) / 180;
    scan.u0 = start + pass.direction * slot * slotTravel;
    scan.eye = groundHeight(street, scan.u0, scan.v0) + SCANNER_HEIGHT;
    const hu = -Math.sin(yaw) * pass.direction;
    const hv = Math.cos(yaw) * pass.direction;
    const time = slot * slotSeconds;
    scanHalf(scan, -hu, -hv, true, time, slotSeconds / 2);
    scanHalf(scan, hu, hv, false, time + slotSeconds / 2, slotSeconds / 2);
  }
}

/** One side of a scan line: from the far end inwards when `inwards`, else from below the vehicle outwards. */
function scanHalf(scan: Scan, hu: number, hv: number, inwards: boolean, time: number, seconds: number): void {
  const { profile, pass, street, random } = scan;
  scan.hu = hu;
  scan.hv = hv;
  traceProfile(street, scan.u0, scan.v0, scan.eye, hu, hv, profile);
  const { s, z } = profile;
  const last = profile.vertices - 1;
  const phase = random.uniform();
  if (pass.pattern.by === 'surface') {
    const spacing = pass.pattern.spacing;
    let total = 0;
    for (let k = 0; k < last; k++) total += Math.hypot(s[k + 1] - s[k], z[k + 1] - z[k]);
    const samples = Math.floor(total / spacing - phase) + 1;
    let piece = inwards ? last - 1 : 0;
    let before = inwards ? total - Math.hypot(s[last] - s[last - 1], z[last] - z[last - 1]) : 0;
    for (let j = 0; j < samples; j++) {
      const arc = (phase + (inwards ? samples - 1 - j : j)) * spacing;
      while (inwards && piece > 0 && arc < before) {
        piece--;
        before -= Math.hypot(s[piece + 1] - s[piece], z[piece + 1] - z[piece]);
      }
      let size = Math.hypot(s[piece + 1] - s[piece], z[piece + 1] - z[piece]);
      while (!inwards && piece < last - 1 && arc >= before + size) {
        before += size;
        piece++;
        size = Math.hypot(s[piece + 1] - s[piece], z[piece + 1] - z[piece]);
      }
      const share = (arc - before) / size;
      const ps = s[piece] + share * (s[piece + 1] - s[piece]);
      const pz = z[piece] + share * (z[piece + 1] - z[piece]);
      shoot(scan, ps, pz, profile.material[piece], time + (seconds * j) / samples);
    }
    return;
  }
  const step = (pass.pattern.stepDegrees * Math.PI) / 180;
  // Angles from the nadir up to the last vertex; a little short of the zenith where there is no wall.
  const top = Math.atan2(s[last], -z[last]);
  const samples = Math.floor(top / step - phase) + 1;
  let piece = inwards ? last - 1 : 0;
  for (let j = 0; j < samples; j++) {
    const angle = (phase + (inwards ? samples - 1 - j : j)) * step;
    const ds = Math.sin(angle);
    const dz = -Math.cos(angle);
    // cross(direction, vertex) > 0: the vertex is seen higher than the beam.
    while (inwards && piece > 0 && ds * z[piece] - dz * s[piece] > 0) piece--;
    while (!inwards && piece < last - 1 && ds * z[piece + 1] - dz * s[piece + 1] <= 0) piece++;
    const below = ds * z[piece] - dz * s[piece];
    const above = ds * z[piece + 1] - dz * s[piece + 1];
    const share = below / (below - above);
    const ps = s[piece] + share * (s[piece + 1] - s[piece]);
    const pz = z[piece] + share * (z[piece + 1] - z[piece]);
    shoot(scan, ps, pz, profile.material[piece], time + (seconds * j) / samples);
  }
}

/** One pulse towards a surface point: obstacles in front take it, crowns let part of it through. */
function shoot(scan: Scan, s: number, z: number, material: number, time: number): void {
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

/** Largest distance from a tree's foot at which its crown can return a pulse. */
export const CROWN_REACH = CROWN_RADIUS;
