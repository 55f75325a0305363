// Check points with errors of known size: intervals of the RMSE, mean errors, blunders, units, too few points.
import { check, filesOf, scan, toWorld, whole } from './delivery.js';

const SMALL = { length: 24, passes: 2, linesPerSecond: 30, pulsesPerLine: 500 };

/** Check points on the carriageway as CSV text; `errorOf(k)` is survey less surface, metres. */
export function surveyCsv({ place, scene, length }, random, count, errorOf, heightOf = (height) => height) {
  const rows = Array.from({ length: count }, (_, k) => {
    const u = (-0.5 + (k + 0.5) / count) * (length - 3);
    const v = random.between(0.5, 3.3) * (k % 2 === 0 ? 1 : -1);
    const [x, y] = toWorld(place, u, v);
    const height = heightOf(place.height + scene.ground(u, v) + errorOf(k));
    return `P${k + 1},${x.toFixed(4)},${y.toFixed(4)},${height.toFixed(4)},check,hard`;
  });
  return `id,easting,northing,height,role,surface\n${rows.join('\n')}\n`;
}

/** Runs vertical-accuracy on a small delivery with 30 check points unless another number is given. */
function survey(random, errorOf, options, settings = {}) {
  const scanned = scan(random, SMALL);
  const report = check({
    files: filesOf(scanned.cloud, whole(scanned.cloud)),
    points: surveyCsv(scanned, random, settings.count ?? 30, errorOf, settings.heightOf),
    requirements: [{ check: 'vertical-accuracy', radius: 0.3, ...options }],
  });
  return report;
}

function rmseInterval(law) {
  return (random) => {
    const planted = random.between(0.01, 0.02);
    const draw = { normal: () => random.normal(), heavy: () => random.student(3) / Math.sqrt(3) }[law];
    const limit = random.pick([0.5, 2]) * planted;
    const report = survey(random, () => planted * draw(), { maxRmse: limit, blunderFactor: 50 });
    if (report.crash) return report;
    const [{ verdict, measured }] = report.requirements;
    const words = law === 'normal' ? 'normal errors' : "errors with heavy tails (Student's t, 3 degrees of freedom)";
    return {
      observations: [
        {
          claim: `RMSE of 30 check points, ${words}, limit half or twice of it`,
          unit: 'mm',
          planted: 1000 * planted,
          reported: 1000 * measured.rmse,
          interval: [1000 * measured.rmseLow, 1000 * measured.rmseHigh],
          expected: limit > planted ? 'pass' : 'fail',
          verdict,
        },
      ],
    };
  };
}

function named(report, rule) {
  return report.requirements[0].causes.some((cause) => cause.rule === rule) ? 'named' : 'not named';
}

function offset(random) {
  const planted = random.pick([-1, 1]) * random.between(0.01, 0.04);
  const report = survey(random, () => -planted + 0.004 * random.normal(), { maxRmse: 0.03, maxMean: 0.005 });
  if (report.crash) return report;
  const [{ verdict, measured }] = report.requirements;
  return {
    observations: [
      {
        claim: 'all heights off by 10 to 40 mm (mean, limit 5)',
        unit: 'mm',
        planted: 1000 * planted,
        reported: 1000 * measured.mean,
        tolerance: 1.5,
        expected: 'fail',
        verdict,
      },
      { claim: 'all heights off: cause', expected: 'named', verdict: named(report, 'constant-height-offset') },
    ],
  };
}

function blunder(random) {
  const at = random.whole(33);
  const size = random.pick([-1, 1]) * random.between(0.1, 0.5);
  const errorOf = (k) => 0.005 * random.normal() + (k === at ? size : 0);
  const report = survey(random, errorOf, { maxRmse: 0.02 }, { count: 33 });
  if (report.crash) return report;
  const [{ verdict, measured }] = report.requirements;
  const claim = 'one point of 33 off by 0.1 to 0.5 m';
  const right = report.surveyPoints[at].status === 'blunder' ? 'named' : 'not named';
  return {
    observations: [
      { claim, planted: 1, reported: measured.blunders, tolerance: 0, expected: 'fail', verdict },
      { claim: `${claim}: the right point`, expected: 'named', verdict: right },
      { claim: `${claim}: cause`, expected: 'named', verdict: named(report, 'single-blunder') },
    ],
  };
}

function feet(random) {
  const report = survey(random, () => 0.004 * random.normal(), { maxRmse: 0.02 }, { heightOf: (h) => h / 0.3048 });
  if (report.crash) return report;
  return {
    observations: [
      { claim: 'heights of check points in feet', expected: 'fail', verdict: report.requirements[0].verdict },
      { claim: 'heights of check points in feet: cause', expected: 'named', verdict: named(report, 'height-unit') },
    ],
  };
}

function few(random) {
  const report = survey(random, () => 0.004 * random.normal(), { maxRmse: 0.02 }, { count: 12 });
  if (report.crash) return report;
  const { verdict } = report.requirements[0];
  return { observations: [{ claim: '12 check points where 30 are asked', expected: 'undetermined', verdict }] };
}

export const surveyCases = [
  { id: 'survey-normal', runs: 8, make: rmseInterval('normal') },
  { id: 'survey-heavy', runs: 8, make: rmseInterval('heavy') },
  { id: 'survey-offset', runs: 3, make: offset },
  { id: 'survey-blunder', runs: 3, make: blunder },
  { id: 'survey-feet', runs: 2, make: feet },
  { id: 'survey-few', runs: 2, make: few },
];
