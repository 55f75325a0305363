import { checkById } from '../checks/index.js';
import { Fault } from '../fault.js';
import type { AcceptanceSpec, SpecRequirement } from '../spec/acceptance-spec.js';
import { STANDARD_INPUT } from '../spec/input-file.js';

/**
 * Paths of the side files of a check, by kind; null or undefined where none was given. A route is not among them: every place of the
 * report is given its station, so that a route is always used.
 */
export interface SideFilePaths {
  points?: string | null;
  zones?: string | null;
  tiles?: string | null;
  manifest?: string | null;
  trajectory?: readonly string[] | null;
}

/** For each side file: its option, what it is, and a requirement that would use it. */
const SIDE_FILES = {
  points: ['--points', 'survey points', '{ "check": "vertical-accuracy", "maxRmse": … }'],
  zones: ['--zones', 'zones', '"zone": "NAME" in the requirements that apply to a zone'],
  tiles: ['--tiles', 'tile index', '{ "check": "tiling", "index": true }'],
  manifest: ['--manifest', 'manifest', '{ "check": "transfer-integrity" }'],
  trajectory: ['--trajectory', 'trajectory', '{ "check": "outages", "maxSeconds": … }'],
} as const;

type SideFile = keyof typeof SIDE_FILES;

/**
 * Refuses a side file that no requirement of the spec uses: its content would not be checked, and an accepted delivery would
 * seem to be accepted against it.
 * @throws Fault `side-file-unused` that names the file and the requirement to add
 */
export function refuseUnusedSideFiles(spec: AcceptanceSpec, paths: SideFilePaths): void {
  const used = new Set(spec.requirements.flatMap(sideFilesOf));
  if (spec.passes.by.includes('trajectory')) used.add('trajectory');
  for (const kind of Object.keys(SIDE_FILES) as SideFile[]) {
    const path = [paths[kind] ?? []].flat()[0];
    if (!path || used.has(kind)) continue;
    const [option, words, requirement] = SIDE_FILES[kind];
    throw new Fault({
      code: 'side-file-unused',
      where: path,
      what: `no requirement of ${spec.file} uses the ${words} given with ${option}, so the file would not be checked`,
      advice: `Add ${requirement} to the spec, or leave ${option} out`,
    });
  }
}

/**
 * Refuses standard input for more than one file: it can be read once.
 * @throws Fault `usage`
 */
export function refuseSharedInput(
  paths: SideFilePaths & {
    spec: string;
    pointsCrs?: string | null;
    route?: string | null;
    trajectoryCrs?: string | null;
  },
): void {
  const { spec, points, pointsCrs, zones, tiles, manifest, route, trajectory, trajectoryCrs } = paths;
  const all = [spec, points, pointsCrs, zones, tiles, manifest, route, trajectoryCrs, ...(trajectory ?? [])];
  const given = all.filter((path) => path === STANDARD_INPUT);
  if (given.length <= 1) return;
  throw new Fault({
    code: 'usage',
    where: 'standard input',
    what: `${STANDARD_INPUT} is given for ${given.length} files, but only one can be read from standard input`,
    advice: 'Give paths for the others',
  });
}

/**
 * Refuses options of a route where no route is given: they would change nothing.
 * @throws Fault `usage`
 */
export function refuseOptionsWithoutRoute(options: {
  route?: string | null;
  stationNotation?: string | null;
  sections?: number | null;
}): void {
  const { route, stationNotation, sections } = options;
  if (route || (!stationNotation && !sections)) return;
  throw new Fault({
    code: 'usage',
    where: stationNotation ? '--station-notation' : '--sections',
    what: 'the option needs a route',
    advice: 'Give the route with --route, or leave the option out',
  });
}

function sideFilesOf(requirement: SpecRequirement): SideFile[] {
  const own = checkById(requirement.check)?.sideFiles?.(requirement) ?? [];
  return requirement.zone === undefined ? [...own] : [...own, 'zones'];
}
