import { createHash } from 'node:crypto';
import { basename } from 'node:path';
import { isUrl } from '../delivery/discover.js';
import type { Report } from '../report/model.js';
import { readInputFile, STANDARD_INPUT } from '../spec/input-file.js';

/** The part of the command line that the verdict depends on. */
export interface AskedFor {
  delivery: readonly string[];
  spec: string;
  points?: string | null;
  pointsCrs?: string | null;
  zones?: string | null;
  tiles?: string | null;
  manifest?: string | null;
  route?: string | null;
  stationNotation?: string | null;
  sections?: number | null;
  trajectory?: readonly string[] | null;
  trajectoryCrs?: string | null;
  trajectoryTime?: string | null;
  sample?: number | null;
}

/** Largest number of files that the command names one by one; for more it has the word DELIVERY. */
const NAMED = 6;

/**
 * The side files, each with its role, file name and SHA-256, so that it can be shown later which ones the verdict rests on.
 * @param trajectory files of the trajectory, whose digests were taken when they were read
 */
export async function inputsOf(
  { points, zones, tiles, manifest, route }: AskedFor,
  trajectory: readonly { path: string; sha256: string }[],
): Promise<Report['inputs']> {
  const inputs: Report['inputs'] = [];
  for (const [role, path] of [
    ['survey points', points],
    ['zones', zones],
    ['tile index', tiles],
    ['manifest', manifest],
    ['route', route],
  ] as const) {
    if (!path) continue;
    const bytes = await readInputFile(path, role);
    inputs.push({ role, file: fileName(path), sha256: createHash('sha256').update(bytes).digest('hex') });
  }
  for (const { path, sha256 } of trajectory) inputs.push({ role: 'trajectory', file: fileName(path), sha256 });
  return inputs;
}

function fileName(path: string): string {
  return path === STANDARD_INPUT ? 'standard input' : basename(path);
}

/**
 * The command that repeats the check, with names but not their folders, so that it reads the same wherever it was run:
 * put the files into one folder and start it there. Names are sorted: their order decides nothing.
 */
export function commandOf(asked: AskedFor): string {
  const { delivery, spec, points, pointsCrs, zones, tiles, manifest, route, stationNotation, sections, sample } = asked;
  const names = delivery.length > NAMED ? ['DELIVERY'] : delivery.map(nameOf).sort();
  const parts = ['cloudassay', 'check', ...names, '--spec', nameOf(spec)];
  if (points) parts.push('--points', nameOf(points));
  if (pointsCrs) parts.push('--points-crs', systemName(pointsCrs));
  if (zones) parts.push('--zones', nameOf(zones));
  if (tiles) parts.push('--tiles', nameOf(tiles));
  if (manifest) parts.push('--manifest', nameOf(manifest));
  if (route) parts.push('--route', nameOf(route));
  if (route && stationNotation) parts.push('--station-notation', stationNotation);
  if (route && sections) parts.push('--sections', String(sections));
  const { trajectory, trajectoryCrs, trajectoryTime } = asked;
  if (trajectory?.length) parts.push('--trajectory');
  for (const name of (trajectory ?? []).map(nameOf).sort()) parts.push(name);
  if (trajectoryCrs) parts.push('--trajectory-crs', systemName(trajectoryCrs));
  if (trajectoryTime) parts.push('--trajectory-time', trajectoryTime);
  if (sample) parts.push('--sample', String(sample));
  return parts.map(quoted).join(' ');
}

/** A coordinate system as it was given, or the name of the file that holds it. */
function systemName(system: string): string {
  return /^(EPSG:|\+|[A-Z_]+\s*[[(])/i.test(system) ? system : nameOf(system);
}

/** Last part of a path; of a URL everything but what may hold a key. */
function nameOf(address: string): string {
  if (isUrl(address)) return address.replace(/\/\/[^/@]*@/, '//').replace(/[?#].*$/s, '');
  return basename(address.replace(/[\\/]+$/, '')) || address;
}

function quoted(word: string): string {
  return /^[\w@%+=:,./*?-]+$/.test(word) ? word : `'${word.replaceAll("'", "'\\''")}'`;
}
