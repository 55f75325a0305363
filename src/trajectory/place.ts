import type { CloudSystem } from '../crs/points-crs.js';
import { isGeographicSystem, type PositionSystem, systemOfDegrees, systemOfMetres } from '../crs/trajectory-system.js';
import type { DeliveredFile } from '../delivery/delivery.js';
import type { Drive } from '../delivery/trajectory.js';
import { Fault } from '../fault.js';
import type { Field } from './columns.js';
import { boxesOf, distanceTo, FAR, whyFar } from './fit-place.js';
import type { TimeFit } from './fit-time.js';
import { convergence, headingFactor, normalised } from './heading.js';
import type { RawDrive, RawFile } from './raw-drive.js';
import { splitAtWeekEnd } from './week-end.js';

/** What must be known of the clouds to bring a trajectory to their system and time. */
export interface CloudSide extends CloudSystem {
  files: readonly DeliveredFile[];
  /** Metres in the unit of horizontal coordinates, and of heights. */
  metresPerUnit: number;
  metresPerUnitHeight: number;
  /** Times of some points, ascending, as stored. */
  times: Float64Array;
}

/**
 * The drives of a file in the system and the time of the clouds.
 * @param asked the coordinate system asked for; null for what the file states
 * @param split whether a drive is cut at the end of the GPS week, where the clouds' times begin again from 0
 * @throws Fault `trajectory-crs` where the two systems cannot be brought together, `trajectory-place` where the trajectory is far away
 */
export function placed(
  file: RawFile,
  sha256: string,
  fit: TimeFit,
  asked: string | null,
  cloud: CloudSide,
  split: boolean,
): { drives: Drive[]; notes: string[] } {
  const notes: string[] = [];
  const drives = file.drives.flatMap((raw) => {
    const { system, degrees } = systemOf(file, raw, asked, cloud);
    notes.push(`${file.drives[0].name}: positions read as ${system.name}; heights as they are.`);
    const drive = driveOf(raw, file, sha256, { fit, system, degrees, cloud });
    if (raw.epochs.repeated > 0)
      notes.push(`${raw.name}: ${raw.epochs.repeated} rows that repeat the row before were left out.`);
    return split ? splitAtWeekEnd(drive) : [drive];
  });
  return { drives, notes: [...new Set(notes)] };
}

function systemOf(
  file: RawFile,
  { name, fields }: RawDrive,
  asked: string | null,
  cloud: CloudSide,
): { system: PositionSystem; degrees: boolean } {
  const definition = asked ?? file.crs;
  const stated = definition !== null && isGeographicSystem(definition);
  const hasDegrees = fields.has('longitude') && fields.has('latitude');
  // Of two positions the projected one is taken, unless its system is another one than stated.
  const degrees = hasDegrees && (!fields.has('x') || stated);
  const fail = (what: string, advice?: string) => new Fault({ code: 'trajectory-crs', where: name, what, advice });
  if (stated && !hasDegrees)
    throw fail('a system of longitude and latitude is stated, but the columns hold projected coordinates');
  const found = degrees ? systemOfDegrees(cloud) : systemOfMetres(definition, cloud, cloud.metresPerUnit);
  if ('problem' in found)
    throw fail(
      found.problem,
      'State the system of the trajectory with --trajectory-crs, or transform it to that of the cloud',
    );
  return { system: found, degrees };
}

interface Target {
  fit: TimeFit;
  system: PositionSystem;
  degrees: boolean;
  cloud: CloudSide;
}

function driveOf(raw: RawDrive, file: RawFile, sha256: string, target: Target): Drive {
  const { epochs, name } = raw;
  const { fit, system, degrees, cloud } = target;
  const n = epochs.epochs;
  const column = (field: Field) => (epochs.columns[field] ?? null) as Float64Array | null;
  const floats = (field: Field) => (epochs.columns[field] ?? null) as Float32Array | null;
  const factorOf = (field: Field, otherwise: number) => {
    const factor = file.factors[field] ?? otherwise;
    if (factor !== 'foot') return factor;
    // A foot of unknown kind is that of the cloud, where it counts in feet.
    return system.metresPerUnit !== 1 ? system.metresPerUnit : 0.3048;
  };
  for (let e = 0; e < n; e++) epochs.time[e] = fit.toCloud(epochs.time[e]);
  const x = column(degrees ? 'longitude' : 'x')!;
  const y = column(degrees ? 'latitude' : 'y')!;
  const unit = degrees ? 1 : system.metresPerUnit;
  scale(x, factorOf(degrees ? 'longitude' : 'x', unit));
  scale(y, factorOf(degrees ? 'latitude' : 'y', unit));
  if (degrees) refuseNoDegrees(x, y, name);
  const turned = degrees && raw.fields.has('heading') ? convergence(x, y, system) : null;
  const before = degrees ? null : [x.slice(0, Math.min(n, 5000)), y.slice(0, Math.min(n, 5000))];
  if (system.transform) transformAll(x, y, system, name);
  refuseFar(x, y, before, name, cloud);
  const z = column('height') ?? zeros(n);
  scale(z, factorOf('height', degrees ? 1 : cloud.metresPerUnitHeight));
  const heading = floats('heading');
  const angle = heading === null ? 1 : headingFactor(x, y, heading, file, name);
  for (const field of ['roll', 'pitch', 'heading', 'sigmaRoll', 'sigmaPitch', 'sigmaHeading'] as const) {
    const factor = factorOf(field, angle);
    scale(floats(field), factor);
    scaleMean(epochs.means, field, factor);
  }
  if (heading) normalised(heading, turned);
  for (const part of ['East', 'North', 'Up'] as const) {
    for (const kind of ['sigma', 'separation'] as const) {
      const field = `${kind}${part}` as const;
      const factor = factorOf(field, degrees ? 1 : part === 'Up' ? cloud.metresPerUnitHeight : unit);
      scale(floats(field), factor);
      scaleMean(epochs.means, field, factor);
    }
  }
  scale(floats('baseDistance'), factorOf('baseDistance', degrees ? 1 : unit));
  return {
    name,
    digest: sha256,
    rows: epochs.rows,
    epochs: n,
    time: epochs.time,
    x,
    y,
    z,
    interval: epochs.interval,
    roll: floats('roll'),
    pitch: floats('pitch'),
    heading,
    sigmaEast: floats('sigmaEast'),
    sigmaNorth: floats('sigmaNorth'),
    sigmaUp: floats('sigmaUp'),
    sigmaRoll: floats('sigmaRoll'),
    sigmaPitch: floats('sigmaPitch'),
    sigmaHeading: floats('sigmaHeading'),
    separationEast: floats('separationEast'),
    separationNorth: floats('separationNorth'),
    separationUp: floats('separationUp'),
    solution: (epochs.columns.solution ?? null) as Uint8Array | null,
    satellites: (epochs.columns.satellites ?? null) as Uint8Array | null,
    pdop: floats('pdop'),
    baseDistance: floats('baseDistance'),
    means: epochs.means,
  };
}

function scale(values: Float64Array | Float32Array | null, factor: number): void {
  if (values === null || factor === 1) return;
  for (let i = 0; i < values.length; i++) values[i] *= factor;
}

function scaleMean(means: Drive['means'], field: Field, factor: number): void {
  const mean = means[field as keyof Drive['means']];
  if (mean !== undefined) means[field as keyof Drive['means']] = mean * factor;
}

function zeros(n: number): Float64Array {
  return new Float64Array(new SharedArrayBuffer(n * 8));
}

function refuseNoDegrees(longitude: Float64Array, latitude: Float64Array, where: string): void {
  for (let i = 0; i < longitude.length; i++) {
    if (Math.abs(longitude[i]) <= 360 && Math.abs(latitude[i]) <= 90) continue;
    throw new Fault({
      code: 'trajectory-place',
      where,
      what: 'a longitude or latitude is beyond any place on Earth',
      found: `${longitude[i]}, ${latitude[i]}`,
      advice: 'Check whether longitude and latitude are exchanged, and whether they are degrees',
    });
  }
}

function transformAll(x: Float64Array, y: Float64Array, { transform, name }: PositionSystem, where: string): void {
  for (let i = 0; i < x.length; i++) {
    const place = transform!(x[i], y[i]);
    if (place === null) {
      throw new Fault({
        code: 'trajectory-crs',
        where,
        what: `a position is where ${name} has no coordinates`,
        found: `${x[i]}, ${y[i]}`,
        advice: 'Check the coordinate system stated for the trajectory, and its unit',
      });
    }
    [x[i], y[i]] = place;
  }
}

function refuseFar(
  x: Float64Array,
  y: Float64Array,
  before: Float64Array[] | null,
  where: string,
  cloud: CloudSide,
): void {
  const boxes = boxesOf(cloud.files);
  if (boxes.length === 0) return;
  const metres = distanceTo(boxes, x, y);
  if (metres <= FAR) return;
  const [px, py] = before ?? [x, y];
  const reason = whyFar(boxes, px, py, cloud);
  const far = metres < 1e7 ? `${(metres / 1000).toFixed(1)} km` : 'more than 10,000 km';
  throw new Fault({
    code: 'trajectory-place',
    where,
    what: `the trajectory is ${far} from the cloud${reason === null ? '' : `; ${reason}`}`,
    advice: 'State its coordinate system with --trajectory-crs, or give the trajectory of this cloud',
  });
}
