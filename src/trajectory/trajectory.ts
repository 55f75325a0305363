import { createHash } from 'node:crypto';
import { basename } from 'node:path';
import type { StatedTime } from '../delivery/time-systems.js';
import type { Trajectory } from '../delivery/trajectory.js';
import { Fault } from '../fault.js';
import { readInputPieces, STANDARD_INPUT } from '../spec/input-file.js';
import { cloudClock } from './cloud-clock.js';
import { detectFormat } from './formats.js';
import { type CloudSide, placed } from './place.js';
import type { FormatReader, RawFile } from './raw-drive.js';
import { timed } from './timed.js';

/** How trajectories are read. */
export interface TrajectoryOptions {
  /** Coordinate system asked for; null for what the files state, otherwise that of the cloud, or WGS 84 for degrees. */
  crs: string | null;
  /** Time system asked for; null for what the files state, otherwise it is worked out. */
  time: StatedTime | null;
  cloud: CloudSide;
  onProgress?: (progress: { file: string; done: number; total: number }) => void;
}

/** The digest of a file that was read. */
export interface ReadFile {
  path: string;
  sha256: string;
}

const KIND = 'trajectory file';

/**
 * Reads the trajectory of a delivery from one file or several, each with one drive or several: tables, GPX 1.1, NMEA 0183 logs, OGC
 * Moving Features JSON. Rows become epochs while the file is read, so that memory does not grow with the rate of the file. What
 * cannot be used, or does not belong to the cloud, makes a trajectory without drives, with the reason in `problem`.
 * @throws Fault `file-missing`, `file-unreadable`: a file that cannot be opened is an error of the command
 */
export async function readTrajectory(
  paths: readonly string[],
  options: TrajectoryOptions,
): Promise<{ trajectory: Trajectory; files: ReadFile[] }> {
  const files: ReadFile[] = [];
  const raw: { file: RawFile; sha256: string }[] = [];
  let fault: Fault | null = null;
  for (const path of paths) {
    const read = await readOne(path, options);
    files.push({ path, sha256: read.sha256 });
    if (read.file instanceof Fault) fault ??= read.file;
    else raw.push({ file: read.file, sha256: read.sha256 });
  }
  try {
    if (fault) throw fault;
    return { trajectory: assembled(raw, options), files };
  } catch (error) {
    if (!(error instanceof Fault)) throw error;
    return { trajectory: { drives: [], notes: [], problem: error.message }, files };
  }
}

async function readOne(
  path: string,
  { onProgress }: TrajectoryOptions,
): Promise<{ file: RawFile | Fault; sha256: string }> {
  const name = path === STANDARD_INPUT ? 'standard input' : basename(path);
  const hash = createHash('sha256');
  let reader: FormatReader | null = null;
  let fault: Fault | null = null;
  const guarded = (work: () => void) => {
    if (fault) return;
    try {
      work();
    } catch (error) {
      if (!(error instanceof Fault)) throw error;
      fault = error;
    }
  };
  // A file that cannot be used is read to its end, because its digest is in the report.
  await readInputPieces(path, KIND, (piece, done, total) => {
    hash.update(piece);
    guarded(() => {
      reader ??= detectFormat(piece, name);
      reader.add(piece);
    });
    onProgress?.({ file: name, done, total });
  });
  let file: RawFile | null = null;
  guarded(() => {
    if (!reader) throw new Fault({ code: 'trajectory-empty', where: name, what: 'the file is empty' });
    file = (reader as FormatReader).finish();
  });
  return { file: (fault ?? file)!, sha256: hash.digest('hex') };
}

function assembled(raw: readonly { file: RawFile; sha256: string }[], options: TrajectoryOptions): Trajectory {
  const { cloud } = options;
  const clock = cloudClock(cloud.files);
  if ('problem' in clock) {
    throw new Fault({
      code: 'trajectory-time',
      where: 'trajectory',
      what: clock.problem,
      advice: 'Deliver points whose GPS times count alike in every file',
    });
  }
  const times = timed(
    raw.map(({ file }) => file),
    options.time,
    clock,
    cloud.times,
  );
  const read = raw.map(({ file, sha256 }, k) => {
    const found = placed(file, sha256, times.fits[k], options.crs, cloud, times.split);
    return { drives: found.drives, notes: [...file.notes, ...found.notes] };
  });
  const drives = read.flatMap((one) => one.drives);
  const notes = read.flatMap((one) => one.notes);
  drives.sort((a, b) => a.time[0] - b.time[0] || (a.name < b.name ? -1 : 1));
  return { drives, notes: [...new Set([...times.notes, ...notes])] };
}
