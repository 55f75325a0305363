import { chiSquareQuantile } from '../geometry/distributions.js';
import type { Duplicates } from '../measure/duplicates.js';
import { fact } from '../measure/fact-types.js';
import { maskArea } from './cells/mask-area.js';
import type { Check, Evidence, JudgeContext, Location, Requirement, State } from './contract/check.js';
import { atMost, limitsOf, type Metrics, metric } from './contract/metric.js';
import { figure, inZone, plural, undetermined } from './contract/wording.js';

export interface DuplicatesOptions {
  same: 'xyz' | 'xyz-time-return';
  maxShare: number;
  sample: number;
}

const WORDS = {
  xyz: 'the same place',
  'xyz-time-return': 'the same place, GPS time and return number',
};
const LISTED = 10;
/** Room left so that chance does not make a sample coarser than planned. */
const FILL = 0.8;
/** In a sample of single points, so many at one place mean a great many there. */
const CLUMP = 3;

const needs = ({ same, sample, zone }: Requirement<DuplicatesOptions>, context: JudgeContext) => {
  const total = context.delivery.files.reduce(
    (sum, { header, fault }) => sum + (fault === null ? (header?.pointCount ?? 0) : 0),
    0,
  );
  const within = maskArea(context, zone);
  const request = (draw: 'places' | 'points', most: number) => {
    const level = total <= most ? 0 : Math.ceil(Math.log2(total / (FILL * most)));
    return fact('duplicates', { same, draw, most, level, within });
  };
  return {
    places: request('places', sample),
    // A sample of places will most likely miss a single place that holds half the cloud; a sample of points will not.
    points: total > sample ? request('points', Math.max(1000, Math.round(sample / 4))) : undefined,
  };
};

/** The figures, and the limits they are held against. */
const metrics = {
  share: metric('share of duplicates', 'share', atMost('maxShare')),
  points: metric('points', 'count'),
  shareLow: metric('share of duplicates, lower bound', 'share'),
  shareHigh: metric('share of duplicates, upper bound', 'share'),
  withinFiles: metric('within files', 'count'),
  acrossFiles: metric('across files', 'count'),
  compared: metric('compared', 'count'),
} satisfies Metrics;

export const duplicates = {
  id: 'duplicates',
  title: 'Duplicate points',
  why: 'Doubled points fake density, give some surfaces double weight in every adjustment, and mean that a tile or a pass was exported twice.',
  sources: [
    {
      standard: 'USGS Lidar Base Specification 2025 rev. A',
      clause: 'classified point cloud tiles',
      note: 'no duplicate points: same x, y, z and time',
    },
    { standard: 'common practice', note: 'points of the same x, y and z, whatever their time' },
    {
      standard: 'NIST/SEMATECH e-Handbook of Statistical Methods',
      note: 'bounds of a count from the chi-square distribution, where a sample is compared (from memory)',
    },
  ],
  schema: {
    properties: {
      same: {
        enum: ['xyz', 'xyz-time-return'],
        default: 'xyz-time-return',
        description:
          'When points are the same: `xyz` at the same place to 0.1 mm; `xyz-time-return` if GPS time and return number are the same too. Dense clouds rounded to 1 mm have a few points at the same place by chance.',
      },
      maxShare: {
        type: 'number',
        minimum: 0,
        maximum: 1,
        default: 0.00001,
        description: 'Share of points that may be duplicates of others, 0 to 1. 0 needs all points compared.',
      },
      sample: {
        type: 'integer',
        minimum: 1000,
        maximum: 200000000,
        default: 1000000,
        description:
          'Points compared at most, about 60 bytes of memory each. A delivery of no more points is compared in full; of a larger one every place has the same chance to be compared, with all its points from all files.',
      },
    },
    required: [],
  },
  allPoints: true,
  metrics,
  quality: 'DQ_CompletenessCommission',
  canGuard: true,

  needs,

  explain: ({ same, maxShare, sample, zone }) =>
    `At most ${share(maxShare)} of the points ${inZone(zone)} may be duplicates of others at ${WORDS[same]}, in the same file or another; beyond ${sample.toLocaleString('en-GB')} points a sample of places is compared, and the report says how large it was.`,

  judge({ places, points }, requirement, context) {
    const { same, maxShare, zone } = requirement;
    const limits = limitsOf(metrics, requirement);
    if (places.sampled === 0)
      return undetermined(`No point ${inZone(zone)} could be compared with others.`, { limits });
    const found = estimate(places, points);
    const { state, reason } = decide(found, requirement);
    const part = found.full
      ? `all ${plural(places.points, 'point')}`
      : `${plural(places.sampled, 'point')} of ${places.points.toLocaleString('en-GB')}, one place in ${(2 ** places.level).toLocaleString('en-GB')}`;
    const doubles =
      found.points === 0
        ? `No point ${inZone(zone)} was found to be a duplicate of another`
        : `${found.full ? '' : 'About '}${plural(found.points, 'point')} ${inZone(zone)} (${share(found.share)}) ${found.points === 1 ? 'is a duplicate' : 'are duplicates'} of others`;
    const clump = found.clumps > 0 ? ' One place or a few hold a large part of the points.' : '';
    return {
      state,
      summary: `${doubles} at ${WORDS[same]} (accepted: ${share(maxShare)}); compared: ${part}.${clump}${reason}`,
      measured: {
        points: figure(found.points, 'count'),
        share: figure(found.share, 'share'),
        shareLow: figure(found.low, 'share'),
        shareHigh: figure(found.high, 'share'),
        withinFiles: figure(
          places.pairs.filter((p) => p.a === p.b).reduce((sum, p) => sum + p.points, 0),
          'count',
        ),
        acrossFiles: figure(
          places.pairs.filter((p) => p.a !== p.b).reduce((sum, p) => sum + p.points, 0),
          'count',
        ),
        compared: figure(places.sampled, 'count'),
      },
      limits,
      evidence: evidenceOf(places, points, same, context),
      advice:
        state === 'fail'
          ? ['Check whether a tile, a pass or the overlap between tiles was exported twice, and export it only once.']
          : state === 'undetermined'
            ? [`Ask for a larger sample (sample: ${places.points}) or accept a share above 0.`]
            : [],
    };
  },
} satisfies Check<DuplicatesOptions, typeof needs>;

interface Estimate {
  full: boolean;
  points: number;
  share: number;
  /** Bounds of the share, each at 95 % confidence; the share itself when all points were compared. */
  low: number;
  high: number;
  /** Points at places that stand out among single points. */
  clumps: number;
}

function estimate(places: Duplicates, single: Duplicates | undefined): Estimate {
  const share = places.surplus / places.sampled;
  if (places.level === 0) return { full: true, points: places.surplus, share, low: share, high: share, clumps: 0 };
  const clumps = (single?.worst ?? [])
    .filter((place) => place.points >= CLUMP)
    .reduce((sum, place) => sum + place.points * 2 ** single!.level, 0);
  const points = Math.min(places.points, Math.max(Math.round(share * places.points), clumps));
  // The number of doubled places in the sample is a count of rare, independent events; each brings its surplus.
  const each = (places.places > 0 ? places.surplus / places.places : 1) / places.sampled;
  const low = places.places > 0 ? (chiSquareQuantile(0.05, 2 * places.places) / 2) * each : 0;
  const high = (chiSquareQuantile(0.95, 2 * (places.places + 1)) / 2) * each;
  const found = points / places.points;
  return { full: false, points, share: found, low: Math.min(low, found), high: Math.max(high, found), clumps };
}

function decide(
  found: Estimate,
  { maxShare, decision }: Requirement<DuplicatesOptions>,
): { state: State; reason: string } {
  const guarded = decision === 'guarded';
  if (guarded ? found.low > maxShare || (found.full && found.share > maxShare) : found.share > maxShare)
    return { state: 'fail', reason: '' };
  if (guarded && found.high > maxShare)
    return { state: 'undetermined', reason: ` The limit lies below the upper 95 % bound, ${share(found.high)}.` };
  if (!found.full && maxShare === 0) {
    const reason = ` A sample cannot show that there are none; with 95 % confidence the share is below ${share(found.high)}.`;
    return { state: 'undetermined', reason };
  }
  return { state: 'pass', reason: '' };
}

function evidenceOf(
  places: Duplicates,
  single: Duplicates | undefined,
  same: DuplicatesOptions['same'],
  { delivery }: JudgeContext,
): Evidence[] {
  const name = (file: number) => delivery.files[file]?.name ?? `file ${file + 1}`;
  const item =
    (note: string) =>
    ({ x, y, z, points, files }: Duplicates['worst'][number]): Location => ({
      x,
      y,
      z,
      file: name(files[0]),
      value: points,
      unit: 'count',
      note: `points at ${WORDS[same]}${note}${files.length > 1 ? `, in ${files.slice(0, 3).map(name).join(' and ')}` : ''}`,
    });
  const clumps = (single?.worst ?? [])
    .filter((place) => place.points >= CLUMP)
    .map(item(` among a sample of one point in ${2 ** (single?.level ?? 0)}`));
  return [
    {
      kind: 'locations',
      title: 'Doubled points',
      items: [...clumps, ...places.worst.map(item(''))].slice(0, LISTED),
    },
    {
      kind: 'table',
      title: places.level === 0 ? 'Files that share points' : 'Files that share points, in the sample',
      columns: [
        { key: 'file', title: 'file' },
        { key: 'other', title: 'other file' },
        { key: 'points', title: 'doubled points', unit: 'count' },
      ],
      rows: places.pairs.slice(0, 50).map(({ a, b, points }) => [name(a), a === b ? 'itself' : name(b), points]),
    },
  ];
}

/** A share from percents down to parts in a billion. */
function share(value: number): string {
  if (value === 0) return '0 %';
  const percent = value * 100;
  return `${percent >= 0.1 ? percent.toFixed(1) : percent.toPrecision(2)} %`;
}
