import { type DeliveredFile, middleOf } from '../delivery/delivery.js';
import { fact } from '../measure/fact-types.js';
import type { Recount } from '../measure/header-recount.js';
import type { Check, Location } from './contract/check.js';
import { limitsOf, type Metrics, metric, NONE_ALLOWED } from './contract/metric.js';
import { figure, plural, undetermined } from './contract/wording.js';

export type HeaderAgreementOptions = Record<never, never>;

const needs = () => ({ recounts: fact('header-recount', null) });

/** The figures, and the limits they are held against. */
const metrics = {
  mismatches: metric('header fields that do not match the points', 'count', NONE_ALLOWED),
  files: metric('files', 'count'),
} satisfies Metrics;

export const headerAgreement = {
  id: 'header-agreement',
  title: 'Agreement of file headers with their points',
  why: 'Other programs trust the header: a wrong bounding box hides points, a wrong count loses them.',
  sources: [
    { standard: 'LAS 1.4 R16', clause: 'public header block: number of points, points by return, max and min X Y Z' },
    { standard: 'LAS 1.5 R00', clause: 'public header block: max and min GPS time' },
  ],
  schema: { properties: {}, required: [] },
  wholeFiles: true,
  allPoints: true,
  metrics,
  quality: 'DQ_ConceptualConsistency',
  needs,
  explain: () =>
    'The extent, the number of points, the points by return and (LAS 1.5) the GPS-time range in every header must be those of its points; extents to one step of the coordinate scale.',

  judge(facts, requirement, context) {
    const recounts = new Map(facts.recounts.map((recount) => [recount.file, recount]));
    const complete = context.delivery.files.filter((file) => file.header !== null && file.fault === null);
    if (complete.length === 0) return undetermined('No file could be read to the end, so no header could be tested.');
    const rows: (string | number)[][] = [];
    const items: Location[] = [];
    for (const file of complete) {
      const mismatches = mismatchesOf(file, recounts.get(file.index) ?? null);
      for (const m of mismatches) rows.push([file.name, m.what, m.header, m.points]);
      if (mismatches.length > 0) items.push(placeOf(file, mismatches.map((m) => m.what).join(', ')));
    }
    const bad = items.length;
    return {
      state: bad === 0 ? 'pass' : 'fail',
      summary:
        bad === 0
          ? `${plural(complete.length, 'header')} recounted from the points; all agree.`
          : `${plural(bad, 'file has a header', 'files have headers')} that ${bad === 1 ? 'disagrees' : 'disagree'} with the points: ${items
              .map((i) => i.file)
              .slice(0, 3)
              .join(', ')}${bad > 3 ? ' and others' : ''}.`,
      measured: { files: figure(complete.length, 'count'), mismatches: figure(rows.length, 'count') },
      limits: limitsOf(metrics, requirement),
      evidence: [
        { kind: 'locations', title: 'Files with a wrong header', items },
        {
          kind: 'table',
          title: 'Header against points',
          columns: [
            { key: 'file', title: 'file' },
            { key: 'what', title: 'field' },
            { key: 'header', title: 'header says' },
            { key: 'points', title: 'points say' },
          ],
          rows,
        },
      ],
      advice:
        bad === 0
          ? []
          : ['Rewrite the header from the points (re-export the tile); the points themselves were read and measured.'],
    };
  },
} satisfies Check<HeaderAgreementOptions, typeof needs>;

interface Mismatch {
  what: string;
  header: string | number;
  points: string | number;
}

function mismatchesOf(file: DeliveredFile, recount: Recount | null): Mismatch[] {
  const header = file.header!;
  const found: Mismatch[] = [];
  const points = recount?.points ?? 0;
  if (header.pointCount !== points) found.push({ what: 'number of points', header: header.pointCount, points });
  if (!recount) {
    // Zero points: revision 16 asks for zero extents.
    if ([...header.min, ...header.max].some((v) => v !== 0))
      found.push({ what: 'extent of no points', header: 'not zero', points: 'zero' });
    return found;
  }
  const axes = ['X', 'Y', 'Z'];
  for (let axis = 0; axis < 3; axis++) {
    const real = (raw: number) => raw * header.scale[axis] + header.offset[axis];
    const step = Math.abs(header.scale[axis]);
    for (const [what, claimed, raw] of [
      [`min ${axes[axis]}`, header.min[axis], recount.raw[axis]],
      [`max ${axes[axis]}`, header.max[axis], recount.raw[axis + 3]],
    ] as const) {
      // One step and a little for the rounding of the division: extents are often taken before coordinates are rounded.
      if (Math.abs(claimed - real(raw)) > step * 1.001) {
        // A scale may be absurd; finer than a millionth of a micrometre no coordinate can be distinguished from another.
        const digits = Math.min(12, Math.max(0, Math.ceil(-Math.log10(step))));
        found.push({ what, header: claimed.toFixed(digits), points: real(raw).toFixed(digits) });
      }
    }
  }
  const returns = header.versionMinor >= 4 ? 15 : 5;
  for (let n = 1; n <= returns; n++) {
    const claimed = header.pointsByReturn[n - 1] ?? 0;
    if (claimed !== recount.byReturn[n])
      found.push({ what: `points of return ${n}`, header: claimed, points: recount.byReturn[n] });
  }
  if (header.gpsTimeMin !== null && header.gpsTimeMax !== null && recount.gps) {
    if (header.gpsTimeMin !== recount.gps[0])
      found.push({ what: 'min GPS time', header: header.gpsTimeMin, points: recount.gps[0] });
    if (header.gpsTimeMax !== recount.gps[1])
      found.push({ what: 'max GPS time', header: header.gpsTimeMax, points: recount.gps[1] });
  }
  return found;
}

function placeOf(file: DeliveredFile, what: string): Location {
  return { ...middleOf(file)!, file: file.name, value: null, unit: 'count', note: `header disagrees in ${what}` };
}
