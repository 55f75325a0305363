import { describe, expect, it } from 'vitest';
import { driveStreet, type VehicleDriveOptions } from '../../src/simulate/drive/drive-street.js';
import { trajectoryCsv } from '../../src/simulate/drive/trajectory-csv.js';
import { trajectoryRows } from '../../src/simulate/drive/trajectory-rows.js';
import { FIRST_GPS_TIME } from '../../src/simulate/scene/drives.js';
import { scanToColumns } from '../../src/simulate/scene/scanner.js';
import { createStreet, surfaceHeight, toLocal } from '../../src/simulate/scene/street.js';

const street = createStreet({ origin: [0, 0], headingDegrees: 25, poleSpacing: 0, treeSpacing: 0 });
const usual: VehicleDriveOptions = {
  street,
  from: 0,
  to: 60,
  legs: [
    { lane: -2, direction: 1, stops: [{ at: 40, seconds: 20 }] },
    { lane: 2, direction: -1, speeds: [{ at: 30, speed: 6 }] },
  ],
  pattern: { by: 'surface', spacing: 1.5 },
  lineSpacing: 0.4,
};
const scan = (options: VehicleDriveOptions) =>
  scanToColumns({ street, passes: driveStreet(options).passes, from: 0, to: 60, noise: 0, resolution: null, seed: 5 });

describe('a vehicle that drives along the street', () => {
  const drive = driveStreet(usual);
  const rows = trajectoryRows(drive, { rate: 100 });

  it('moves without jumps: between rows it covers speed times interval, and its heading points where it goes', () => {
    let turned = 0;
    let standing = 0;
    let farthest = 0;
    let aside = 0;
    for (let k = 1; k < rows.length; k++) {
      const [a, b] = [rows[k - 1], rows[k]];
      const metres = Math.hypot(b.x - a.x, b.y - a.y);
      farthest = Math.max(farthest, metres);
      if (metres < 1e-9) standing++;
      const bend = ((b.heading - a.heading + 540) % 360) - 180;
      turned += Math.abs(bend);
      if (metres < 0.01) continue;
      const way = (Math.atan2(b.x - a.x, b.y - a.y) * 180) / Math.PI;
      aside = Math.max(aside, Math.abs(((way - a.heading - bend / 2 + 900) % 360) - 180));
    }
    // 10 m/s is the speed of the legs: nothing is faster. An interval may be half straight and half on an arc of 6 m.
    expect(farthest).toBeLessThan(0.1 + 1e-9);
    expect(aside).toBeLessThan(0.1);
    // 60 s before and after, and the stop of 20 s, each seen from within by its intervals of 0.01 s.
    expect(standing / 100).toBeCloseTo(140, 0);
    // Two loops before, two after, and a turn of half a circle at least.
    expect(turned).toBeGreaterThan(4 * 360 + 179);
  });

  it('keeps its lane at its speed, slows down for its stop, and comes back in the other direction', () => {
    const [first, second] = drive.times.legs;
    const at = (seconds: number) => rows[Math.round(seconds * 100)];
    expect(toLocal(street, at(first.from + 1).x, at(first.from + 1).y)[1]).toBeCloseTo(-2, 3);
    expect(toLocal(street, at(second.from + 1).x, at(second.from + 1).y)[1]).toBeCloseTo(2, 3);
    expect(at(first.from + 1).heading).toBeCloseTo(65, 6);
    expect(at(second.from + 1).heading).toBeCloseTo(245, 6);
    // Braking from 10 m/s and starting again at 2 m/s² takes 5 s each for 25 m; the rest of the leg at 10 m/s.
    const metres = drive.motion.metres;
    expect(metres).toBeGreaterThan(2 * 60);
    const length = 60 + 2 * (street.sideOffset + 4) * Math.tan((40 * Math.PI) / 180);
    expect(first.to - first.from).toBeCloseTo((length - 50) / 10 + 10 + 20, 6);
  });

  it('scans the exact surface when nothing is wrong, with the times at which the vehicle is near', () => {
    const points = scan(usual);
    expect(points.count).toBeGreaterThan(3000);
    let ground = 0;
    let offPlane = 0;
    let offGround = 0;
    for (let i = 0; i < points.count; i++) {
      const row = rows[Math.round((points.gpsTime[i] - rows[0].time) * 100)];
      const [du, dv] = toLocal(street, points.x[i], points.y[i]).map((c, k) => c - toLocal(street, row.x, row.y)[k]);
      // Heads are turned 40 degrees: a plane through the vehicle, as wide as a line is driven (0.2 m) and a row.
      offPlane = Math.max(offPlane, Math.abs(Math.abs(du) - Math.abs(dv) * Math.tan((40 * Math.PI) / 180)));
      if (points.classification[i] !== 11) continue;
      offGround = Math.max(offGround, Math.abs(points.z[i] - surfaceHeight(street, points.x[i], points.y[i])!));
      ground++;
    }
    expect(offPlane).toBeLessThan(0.35);
    expect(offGround).toBeLessThan(1e-6);
    expect(ground).toBeGreaterThan(800);
  });

  const outage = { leg: 1, fromMetres: 20, toMetres: 50, error: { along: 0.3, left: -0.2, up: 0.1 } };

  it('gives points and trajectory the same error of an outage, along, left and up', () => {
    const faulty = driveStreet({ ...usual, outages: [outage] });
    const [sound, wrong] = [scan(usual), scan({ ...usual, outages: [outage] })];
    const [{ from, to }] = faulty.times.outages;
    const shifted = trajectoryRows(faulty, { rate: 100 });
    expect(wrong.count).toBe(sound.count);
    const angle = ((25 + 180) * Math.PI) / 180;
    let during = 0;
    const off = [0, 0, 0];
    for (let i = 0; i < sound.count; i++) {
      const seconds = sound.gpsTime[i] - FIRST_GPS_TIME;
      // At the last moment of the outage it is over; times are stored to 0.1 microseconds.
      if (Math.abs(seconds - to) < 1e-6 || Math.abs(seconds - from) < 1e-6) continue;
      const share = seconds >= from && seconds < to ? (seconds - from) / (to - from) : 0;
      if (share > 0) during++;
      const planted = [
        share * (0.3 * Math.cos(angle) + 0.2 * Math.sin(angle)),
        share * (0.3 * Math.sin(angle) - 0.2 * Math.cos(angle)),
        share * 0.1,
      ];
      const found = [wrong.x[i] - sound.x[i], wrong.y[i] - sound.y[i], wrong.z[i] - sound.z[i]];
      for (let k = 0; k < 3; k++) off[k] = Math.max(off[k], Math.abs(found[k] - planted[k]));
    }
    expect(Math.max(...off)).toBeLessThan(1e-6);
    expect(during).toBeGreaterThan(200);
    const middle = Math.round(((from + to) / 2) * 100);
    const share = (middle / 100 - from) / (to - from);
    expect(shifted[middle].z - rows[middle].z).toBeCloseTo(share * 0.1, 9);
    expect(shifted[middle].solution).toBe('dead-reckoning');
    expect(shifted.filter(({ satellites }) => satellites === 0).length / 100).toBeCloseTo(to - from, 1);
  });

  it('turns the beam of one head by its mounting error, about the scanner', () => {
    const leverArm = [0.5, 0.2, 0.1] as const;
    const heads = (roll: number) => [{ yaw: 40, leverArm, mountingError: [roll, 0, 0] as const }, { yaw: -40 }];
    const [sound, wrong] = [scan({ ...usual, heads: heads(0) }), scan({ ...usual, heads: heads(0.1) })];
    let turned = 0;
    let other = 0;
    let most = 0;
    for (let i = 0; i < sound.count; i++) {
      const moved = Math.hypot(wrong.x[i] - sound.x[i], wrong.y[i] - sound.y[i], wrong.z[i] - sound.z[i]);
      if (sound.scannerChannel[i] === 1) other = Math.max(other, moved);
      else if (moved > 0.015) turned++;
      most = Math.max(most, moved);
    }
    expect(other).toBe(0);
    // 0.1 degree at 12 m are 21 mm.
    expect(most).toBeLessThan(0.025);
    expect(turned).toBeGreaterThan(50);
  });

  it('states honest or too small standard deviations', () => {
    const faulty = driveStreet({ ...usual, outages: [outage] });
    const worst = (sigmas: 'honest' | 'optimistic') =>
      Math.max(...trajectoryRows(faulty, { rate: 10, sigmas }).map(({ sigmaUp }) => sigmaUp));
    expect(worst('honest')).toBeGreaterThan(0.095);
    expect(worst('optimistic')).toBe(0.012);
  });

  it('writes week seconds, also over the end of a week, in points and rows alike', () => {
    // A week of GPS time has 604,800 s, and adjusted standard time is GPS time minus 1e9 (LAS 1.4 R16): 100 s before week 2349.
    const startTime = 604_800 * 2349 - 1e9 - 100;
    const options = { ...usual, startTime, weekSeconds: true };
    const late = driveStreet(options);
    const stored = trajectoryRows(late, { rate: 10 }).map(({ time }) => time);
    expect(stored[0]).toBeCloseTo(604_700, 6);
    expect(stored[1001]).toBeCloseTo(0.1, 6);
    const points = scan(options);
    expect(points.gpsTime.every((time) => time >= 0 && time < 604_800)).toBe(true);
  });

  it('writes rows as CSV', () => {
    const [header, first, , last] = trajectoryCsv(rows.slice(0, 2)).split('\n');
    expect(header.split(',')).toHaveLength(16);
    expect(first.split(',')[0]).toBe(`${FIRST_GPS_TIME}.000000`);
    expect(first.split(',')).toHaveLength(16);
    expect(last).toBe('');
    expect(trajectoryCsv(rows.slice(0, 1), ['GPSTime', 'Height'])).toBe(
      `GPSTime,Height\n${FIRST_GPS_TIME}.000000,${rows[0].z.toFixed(4)}\n`,
    );
  });

  it('refuses stops that are too near to one another', () => {
    const stops = [20, 30].map((at) => ({ at, seconds: 5 }));
    expect(() => driveStreet({ ...usual, legs: [{ lane: 0, direction: 1, stops }] })).toThrow(/too near/);
  });
});
