// A vehicle with one or two profile scanners drives through a scene. Every range is measured from where the vehicle is, and
// turned into a point by where the trajectory says it is: errors of trajectory, attitude and mounting arise as in the field.
import { meet } from './scene.js';

/** Points grow in here. */
export function emptyCloud(capacity = 2_000_000) {
  return {
    count: 0,
    x: new Float64Array(capacity),
    y: new Float64Array(capacity),
    z: new Float64Array(capacity),
    time: new Float64Array(capacity),
    intensity: new Uint16Array(capacity),
    pass: new Uint16Array(capacity),
    head: new Uint8Array(capacity),
    class: new Uint8Array(capacity),
    returnNumber: new Uint8Array(capacity),
    returns: new Uint8Array(capacity),
  };
}

/** Seconds of standard GPS time less 1e9 at which the first pass starts: a day of June 2025. */
const START = 433_200_000;

/**
 * Drives one pass and adds its points to the cloud. `place` has azimuth (radians), east, north, height. `pass`: id, direction
 * (1 or -1), lane (v, metres), length, speed, linesPerSecond, pulsesPerLine, start (s), noise (m), heads (each yaw and
 * mounting error [roll, pitch, yaw] in radians), error(t, travelled): error of the trajectory in world metres,
 * tilt(t): error of roll, pitch and heading, radians.
 */
export function drive(cloud, scene, place, pass, random) {
  const heads = pass.heads ?? [{ yaw: 0.6 }];
  const duration = pass.length / pass.speed;
  const lines = Math.round(duration * pass.linesPerSecond);
  const cosA = Math.cos(place.azimuth);
  const sinA = Math.sin(place.azimuth);
  const phase = [random.between(0, 6), random.between(0, 6), random.between(0, 6)];
  const hit = { code: 0, distance: 0, leaf: 0 };
  const none = [0, 0, 0];
  const heading = pass.direction > 0 ? 0 : Math.PI;
  for (let line = 0; line < lines; line++) {
    const t0 = line / pass.linesPerSecond;
    const attitude = [
      0.012 * Math.sin(1.9 * t0 + phase[0]),
      0.008 * Math.sin(1.3 * t0 + phase[1]),
      heading + 0.01 * Math.sin(0.7 * t0 + phase[2]),
    ];
    const tilt = pass.tilt ? pass.tilt(t0) : none;
    const actual = rotation(...attitude);
    const stated = rotation(attitude[0] + tilt[0], attitude[1] + tilt[1], attitude[2] + tilt[2]);
    for (let h = 0; h < heads.length; h++) {
      const mounted = times(actual, rotation(...(heads[h].mounting ?? none)));
      for (let pulse = 0; pulse < pass.pulsesPerLine; pulse++) {
        const t = t0 + (pulse + 0.5 * h) / (pass.pulsesPerLine * pass.linesPerSecond);
        const travelled = pass.speed * t - pass.length / 2;
        const u = pass.direction * travelled;
        const v = pass.lane + 0.15 * Math.sin(0.5 * t + phase[0]);
        const at = [u, v, scene.ground(u, v) + 2.3];
        const angle = (2 * Math.PI * (pulse + line * 0.37)) / pass.pulsesPerLine;
        const yaw = heads[h].yaw;
        const beam = [-Math.sin(angle) * Math.sin(yaw), Math.sin(angle) * Math.cos(yaw), -Math.cos(angle)];
        const ray = apply(mounted, beam);
        meet(scene, at, ray, pass.range ?? 30, hit, random);
        if (hit.code === 0 && hit.leaf === 0) continue;
        const says = apply(stated, beam);
        const error = pass.error ? pass.error(t, travelled) : none;
        // Two returns where part of the light goes through leaves.
        const two = hit.leaf > 0 && hit.code > 0 && random.uniform() < 0.5;
        const found = hit.leaf > 0 ? (two ? [hit.leaf, hit.distance] : [hit.leaf]) : [hit.distance];
        for (let r = 0; r < found.length; r++) {
          const range = found[r] + pass.noise * random.normal();
          const pu = at[0] + says[0] * range;
          const pv = at[1] + says[1] * range;
          const i = cloud.count++;
          cloud.x[i] = place.east + cosA * pu - sinA * pv + error[0];
          cloud.y[i] = place.north + sinA * pu + cosA * pv + error[1];
          cloud.z[i] = place.height + at[2] + says[2] * range + error[2];
          cloud.time[i] = START + pass.start + t;
          cloud.intensity[i] = 9000 + random.whole(40_000);
          cloud.pass[i] = pass.id;
          cloud.head[i] = h;
          cloud.class[i] = hit.leaf > 0 && r === 0 ? 5 : hit.code;
          cloud.returnNumber[i] = r + 1;
          cloud.returns[i] = found.length;
        }
      }
    }
  }
}

/** Keeps only the points for which `keep(i)` holds. */
export function keepOnly(cloud, keep) {
  let to = 0;
  for (let i = 0; i < cloud.count; i++) if (keep(i)) copyPoint(cloud, i, to++);
  cloud.count = to;
}

/** Copies point `from` to place `to`. */
export function copyPoint(cloud, from, to) {
  for (const column of Object.values(cloud)) if (typeof column !== 'number') column[to] = column[from];
}

/** Rotation about the forward axis (roll), the left axis (pitch), the upward axis (yaw), in that order; rows. */
function rotation(roll, pitch, yaw) {
  const [sr, cr, sp, cp, sy, cy] = [roll, pitch, yaw].flatMap((angle) => [Math.sin(angle), Math.cos(angle)]);
  return [
    [cy * cp, cy * sp * sr - sy * cr, cy * sp * cr + sy * sr],
    [sy * cp, sy * sp * sr + cy * cr, sy * sp * cr - cy * sr],
    [-sp, cp * sr, cp * cr],
  ];
}

function times(a, b) {
  return a.map((row) => [0, 1, 2].map((k) => row[0] * b[0][k] + row[1] * b[1][k] + row[2] * b[2][k]));
}

function apply(m, v) {
  return m.map((row) => row[0] * v[0] + row[1] * v[1] + row[2] * v[2]);
}
