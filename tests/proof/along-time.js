// Errors of one trajectory along time: drift, steps, outages. The road is driven slowly, so that a pass lasts half a minute.
import { check, filesOf, scan, whole } from './delivery.js';

const LONG = { length: 60, speed: 2, linesPerSecond: 9, pulsesPerLine: 700, walls: true, passes: 3 };
const OK = () => [0, 0, 0];

/** A delivery whose second pass has `error`; its report on the requirements. */
function withError(random, error, requirements) {
  const { cloud } = scan(random, { ...LONG, errors: [OK, error, OK] });
  return check({ files: filesOf(cloud, whole(cloud)), requirements });
}

function heightDrift(random) {
  const slope = (random.uniform() < 0.5 ? -1 : 1) * random.between(0.03, 0.08); // metres a minute
  const report = withError(random, (t) => [0, 0, (slope * (t - 15)) / 60], [{ check: 'pass-drift', maxSlope: 20 }]);
  if (report.crash) return report;
  const [{ verdict, measured }] = report.requirements;
  return {
    observations: [
      {
        claim: 'drift of height of 30 to 80 mm a minute (limit 20)',
        unit: 'mm/min',
        planted: Math.abs(1000 * slope),
        reported: measured.slope === null ? null : Math.abs(measured.slope),
        tolerance: 3,
        expected: 'fail',
        verdict,
      },
    ],
  };
}

function heightStep(random) {
  const size = (random.uniform() < 0.5 ? -1 : 1) * random.between(0.012, 0.03);
  const when = random.between(8, 22);
  const report = withError(random, (t) => [0, 0, t > when ? size : 0], [{ check: 'pass-drift', maxStep: 0.008 }]);
  if (report.crash) return report;
  const [{ verdict, measured }] = report.requirements;
  return {
    observations: [
      {
        claim: 'step of height of 12 to 30 mm (limit 8)',
        unit: 'mm',
        planted: Math.abs(1000 * size),
        reported: measured.step === null ? null : Math.abs(1000 * measured.step),
        tolerance: 1.5,
        expected: 'fail',
        verdict,
      },
    ],
  };
}

/** An error that grows with the square of time for some seconds and is then gone, along one axis of the world. */
function outage(axis, what, check_, size) {
  return (random) => {
    const from = random.between(6, 12);
    const duration = random.between(7, 11);
    const error = (t) => {
      const into = t - from;
      const off = into > 0 && into < duration ? size * (into / duration) ** 2 : 0;
      return [0, 1, 2].map((k) => (k === axis ? off : 0));
    };
    const report = withError(random, error, [check_]);
    if (report.crash) return report;
    const [{ verdict, measured }] = report.requirements;
    const observation = { claim: what, expected: 'fail', verdict };
    if (axis === 2) {
      // The median of a bin of one second lags half a bin behind the largest error.
      Object.assign(observation, { unit: 'mm', planted: 1000 * size, tolerance: 0.2 * 1000 * size });
      observation.reported = measured.worst === null ? null : Math.abs(1000 * measured.worst);
    }
    return { observations: [observation] };
  };
}

/** A drift across the road: what is left of it in each figure that could show it. */
function acrossDrift(random) {
  const size = 0.06;
  const error = (t) => [0, (size * (t - 15)) / 30, 0];
  const report = withError(random, error, [
    { check: 'pass-drift', maxOffset: 0.02 },
    { check: 'pass-agreement', maxShift: 0.02 },
    { check: 'pass-agreement', maxPlan: 0.02 },
  ]);
  if (report.crash) return report;
  const names = ['pass-drift (maxOffset)', 'pass-agreement (maxShift)', 'pass-agreement (maxPlan)'];
  return {
    observations: report.requirements.map(({ verdict }, k) => ({
      claim: `drift across from -30 to +30 mm, seen by ${names[k]} (limit 20)`,
      expected: 'fail',
      verdict,
    })),
  };
}

const drift = { check: 'pass-drift', maxOffset: 0.015 };
const plan = { check: 'pass-agreement', maxPlan: 0.02 };

export const timeCases = [
  { id: 'time-drift', runs: 3, make: heightDrift },
  { id: 'time-step', runs: 3, make: heightStep },
  {
    id: 'time-outage-height',
    runs: 3,
    make: outage(2, 'outage of 7 to 11 s, height error up to 40 mm (limit 15)', drift, 0.04),
  },
  {
    id: 'time-outage-across',
    runs: 2,
    make: outage(1, 'outage of 7 to 11 s, error across up to 60 mm, seen by pass-agreement (maxPlan 20)', plan, 0.06),
  },
  { id: 'time-drift-across', runs: 2, make: acrossDrift },
];
