import type { SceneColumns } from '../writer/point-columns.js';
import { appendPoints, createSceneColumns } from '../writer/point-columns.js';
import type { Scan } from './pulse.js';
import { shoot } from './pulse.js';
import { Random } from './random.js';
import { scanLead } from './scan-lead.js';
import type { ScanOptions, ScanPass } from './scan-options.js';
import { SCANNER_HEIGHT } from './scan-options.js';
import { createProfile, traceProfile } from './scan-profile.js';
import { groundHeight, Material } from './street.js';

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
      appendPoints(larger, all);
      all = larger;
    }
    appendPoints(all, block);
  });
  return all;
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
    weights: new Float64Array(Material.sky + 1).fill(1),
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
  const lead = scanLead(street, pass);
  const length = options.to - options.from + 2 * lead;
  const start = pass.direction > 0 ? options.from - lead : options.to + lead;
  const slotTravel = pass.lineSpacing / heads;
  const slots = Math.floor(length / slotTravel);
  const slotSeconds = slotTravel / pass.speed;
  for (let slot = 0; slot < slots; slot++) {
    scan.channel = slot % heads;
    const yaw = (pass.headYaws[scan.channel] * Math.PI) / 180;
    // Density on the ground: heads / (line spacing x spacing x cos yaw); on walls along the street without the cosine; on
    // walls across it tan yaw / (line spacing x spacing), because one side of them is seen by one head only.
    scan.weights[Material.front] = 1 / Math.cos(yaw);
    scan.weights[Material.back] = 1 / Math.cos(yaw);
    scan.weights[Material.side] = heads / Math.max(0.2, Math.abs(Math.sin(yaw)));
    scan.u0 = start + pass.direction * slot * slotTravel;
    scan.v0 = pass.lane;
    scan.eye = groundHeight(street, scan.u0, scan.v0) + SCANNER_HEIGHT;
    if (pass.vehicle) placeHead(scan, pass.vehicle.leverArms[scan.channel]);
    const hu = -Math.sin(yaw) * pass.direction;
    const hv = Math.cos(yaw) * pass.direction;
    const time = pass.vehicle ? pass.vehicle.timeAt(slot * slotTravel) : slot * slotSeconds;
    // While the vehicle stands, or hardly moves, its scanner is off.
    const seconds = pass.vehicle
      ? Math.min(pass.vehicle.timeAt((slot + 1) * slotTravel) - time, 4 * slotSeconds)
      : slotSeconds;
    scanHalf(scan, -hu, -hv, true, time, seconds / 2);
    scanHalf(scan, hu, hv, false, time + seconds / 2, seconds / 2);
  }
}

/** Moves the scanner from the reference point of the vehicle to the place of the head. */
function placeHead(scan: Scan, [forward, left, up]: readonly number[]): void {
  scan.u0 += scan.pass.direction * forward;
  scan.v0 += scan.pass.direction * left;
  scan.eye += up;
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
    for (let k = 0; k < last; k++) total += weightedLength(scan, k);
    const samples = Math.floor(total / spacing - phase) + 1;
    let piece = inwards ? last - 1 : 0;
    let size = weightedLength(scan, piece);
    let before = inwards ? total - size : 0;
    for (let j = 0; j < samples; j++) {
      const arc = (phase + (inwards ? samples - 1 - j : j)) * spacing;
      while (inwards && piece > 0 && arc < before) {
        piece--;
        size = weightedLength(scan, piece);
        before -= size;
      }
      while (!inwards && piece < last - 1 && arc >= before + size) {
        before += size;
        piece++;
        size = weightedLength(scan, piece);
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

function weightedLength(scan: Scan, piece: number): number {
  const { s, z, material } = scan.profile;
  return Math.hypot(s[piece + 1] - s[piece], z[piece + 1] - z[piece]) * scan.weights[material[piece]];
}
