// Intervals of the RMSE of simulated surveys, without a cloud: errors of known laws go to the program's own modules for the interval and the
// guarded verdict.
import { decideRmse } from '../../dist/src/checks/accuracy/decision.js';
import { rmsBounds } from '../../dist/src/geometry/rms-interval.js';

/** The factor by which the errors of a check point are larger than usual, where a tenth of the points is three times less accurate. */
const tenfold = (random) => (random.uniform() < 0.1 ? 3 : 1);

/** Laws of error with their true RMS. `draw` gives the errors of `axes` axes at one check point. */
const LAWS = [
  { name: 'normal errors', rms: 1, draw: (random) => [random.normal()] },
  {
    name: 'a tenth of the errors three times larger',
    rms: Math.sqrt(1.8),
    draw: (random) => [tenfold(random) * random.normal()],
  },
  {
    name: 'Laplace errors',
    rms: Math.SQRT2,
    draw: (random) => [random.pick([-1, 1]) * Math.log(random.uniform())],
  },
  { name: "Student's t, 5 degrees of freedom", rms: Math.sqrt(5 / 3), draw: (random) => [random.student(5)] },
  { name: "Student's t, 4 degrees of freedom", rms: Math.SQRT2, draw: (random) => [random.student(4)] },
  { name: 'both axes, normal errors', rms: Math.SQRT2, draw: (random) => [random.normal(), random.normal()] },
  {
    name: 'both axes, a tenth of the points three times less accurate',
    rms: Math.sqrt(3.6),
    draw: (random) => {
      const size = tenfold(random);
      return [size * random.normal(), size * random.normal()];
    },
  },
];
const POINTS = [20, 30, 60, 100];
/** The number of points for which guarded verdicts are counted: the usual least number. */
const GUARDED = 30;
/** Surveys of one run, for each law and number of points. */
const SURVEYS = 125;

function observe(random, { name, rms, draw }, points) {
  const errors = Array.from({ length: points }, () => draw(random));
  const axes = errors[0].map((_, axis) => errors.map((error) => error[axis]));
  const found = Math.sqrt(errors.flat().reduce((sum, v) => sum + v * v, 0) / points);
  const bounds = rmsBounds(axes);
  const { state } = decideRmse({
    found: '',
    rmse: found,
    bounds,
    limit: rms,
    used: points,
    minPoints: points,
    guarded: true,
    reasons: [],
  });
  const claim = `RMSE of ${points} check points, ${name}`;
  const interval = [bounds.interval.low * found, bounds.interval.high * found];
  const guarded = (refused) => ({
    claim: `${claim}, limit equal to it: guarded is no ${refused}`,
    expected: `no ${refused}`,
    verdict: state === refused ? refused : `no ${refused}`,
  });
  return [
    { claim, planted: rms, reported: found, interval },
    ...(points === GUARDED ? [guarded('pass'), guarded('fail')] : []),
  ];
}

function surveys(random) {
  const observations = LAWS.flatMap((law) =>
    POINTS.flatMap((points) => Array.from({ length: SURVEYS }, () => observe(random, law, points)).flat()),
  );
  return { observations };
}

export const intervalCases = [{ id: 'rmse-interval', runs: 4, make: surveys }];
