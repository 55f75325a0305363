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
  sample?: number | null;
}

/** Largest number of files that the command names one by one; for more it has the word DELIVERY. */
const NAMED = 6;

/** The side files, each with its role, file name and SHA-256, so that it can be shown later which ones the verdict rests on. */
export async function inputsOf({ points, zones, tiles, manifest, route }: AskedFor): Promise<Report['inputs']> {
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
    const file = path === STANDARD_INPUT ? 'standard input' : basename(path);
    inputs.push({ role, file, sha256: createHash('sha256').update(bytes).digest('hex') });
  }
  return inputs;
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
  if (pointsCrs)
    parts.push('--points-crs', /^(EPSG:|\+|[A-Z_]+\s*[[(])/i.test(pointsCrs) ? pointsCrs : nameOf(pointsCrs));
  if (zones) parts.push('--zones', nameOf(zones));
  if (tiles) parts.push('--tiles', nameOf(tiles));
  if (manifest) parts.push('--manifest', nameOf(manifest));
  if (route) parts.push('--route', nameOf(route));
  if (route && stationNotation) parts.push('--station-notation', stationNotation);
  if (route && sections) parts.push('--sections', String(sections));
  if (sample) parts.push('--sample', String(sample));
  return parts.map(quoted).join(' ');
}

/** Last part of a path; of a URL everything but what may hold a key. */
function nameOf(address: string): string {
  if (isUrl(address)) return address.replace(/\/\/[^/@]*@/, '//').replace(/[?#].*$/s, '');
  return basename(address.replace(/[\\/]+$/, '')) || address;
}

function quoted(word: string): string {
  return /^[\w@%+=:,./*?-]+$/.test(word) ? word : `'${word.replaceAll("'", "'\\''")}'`;
}
