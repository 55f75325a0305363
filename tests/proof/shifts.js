// Shifts between passes: planted against reported, and how often the stated 95 % interval holds the planted shift.
import { check, filesOf, scan, whole } from './delivery.js';

const LIMIT = 0.01;

/** Two heads that look forward and back on either side, so that every drive sees all walls. */
const HEADS = [{ yaw: 0.6 }, { yaw: -0.6 }];
const TWO = { heads: HEADS, length: 24 };

/** What a direction of the report is called here. The direction up is perpendicular to what is hidden, the axis z is not. */
function claimOf([x, y, z], azimuth) {
  if (Math.abs(z) > 0.9) return 'perpendicular to the road, upward';
  if (Math.abs(z) > 0.1) return null;
  const cosine = Math.abs(x * Math.cos(azimuth) + y * Math.sin(azimuth));
  if (cosine > 0.9) return 'along the road';
  return cosine < 0.4 ? 'across the road' : null;
}

/** Unless stated otherwise the street is turned by 7.4 degrees from the grid: x is nearly along it, y across. */
const VARIANTS = [
  { id: 'no-walls', title: 'no walls', options: { poles: false }, runs: 12 },
  { id: 'no-walls-no-kerb', title: 'no walls, no kerb', options: { poles: false, kerb: false }, runs: 12 },
  { id: 'sparse-walls', title: 'sparse walls', options: { walls: true, ...TWO }, runs: 30 },
  { id: 'one-head', title: 'sparse walls, one head', options: { walls: true }, runs: 12 },
  {
    id: 'diagonal',
    title: 'sparse walls, street at 37 degrees to the grid',
    options: { walls: true, ...TWO, azimuth: 0.65 },
    runs: 24,
  },
  {
    id: 'sparse-walls-no-kerb',
    title: 'sparse walls, no kerb',
    options: { walls: true, ...TWO, kerb: false, poles: false },
    runs: 12,
  },
  {
    id: 'sparse-walls-on-faces',
    title: 'sparse walls, on voxel faces',
    options: { walls: true, ...TWO, onFaces: true, azimuth: 0 },
    runs: 30,
  },
  {
    id: 'sparse-walls-grid',
    title: 'sparse walls, parallel to the grid, off its faces',
    options: { walls: true, ...TWO, azimuth: 0 },
    runs: 12,
  },
  {
    id: 'dense-walls',
    title: 'dense walls',
    options: {
      walls: true,
      length: 16,
      linesPerSecond: 60,
      pulsesPerLine: 1500,
      passes: 3,
      heads: HEADS,
      capacity: 3_000_000,
    },
    runs: 8,
  },
  { id: 'bushes', title: 'sparse walls, bushes', options: { walls: true, ...TWO, bushes: 12 }, runs: 24 },
  { id: 'tunnel', title: 'tunnel', options: { tunnel: true, poles: false }, runs: 12 },
  { id: 'rails', title: 'rails and quay wall', options: { rails: true, quay: true }, runs: 12 },
  {
    id: 'wander',
    title: 'sparse walls, trajectory wanders by 3 mm',
    options: { walls: true, ...TWO },
    wander: 0.003,
    runs: 24,
  },
  {
    id: 'wander-long',
    title: 'sparse walls over 64 m, trajectory wanders by 3 mm',
    options: { walls: true, ...TWO, length: 64 },
    wander: 0.003,
    runs: 30,
  },
];

/** A shift of each pass, millimetres to centimetres, and a slow wave on it where the trajectory wanders. */
function makeShift(variant, random) {
  const count = variant.options.passes ?? 3;
  const shifts = Array.from({ length: count }, () => [0, 1, 2].map(() => random.between(-0.025, 0.025)));
  const errors = shifts.map((shift) => {
    if (!variant.wander) return () => shift;
    const phases = [0, 1, 2].map(() => random.between(0, 6.28));
    return (t) => shift.map((s, k) => s + variant.wander * Math.SQRT2 * Math.sin(2.5 * t + phases[k]));
  });
  const { cloud, passes } = scan(random, { ...variant.options, errors });
  // What is planted of a trajectory that wanders is the mean of its error over the pass.
  const means = passes.map(({ length, speed }, p) => {
    const times = Array.from({ length: 200 }, (_, i) => ((i + 0.5) * length) / speed / 200);
    return [0, 1, 2].map((k) => times.reduce((sum, t) => sum + errors[p](t)[k], 0) / times.length);
  });
  const report = check({
    files: filesOf(cloud, whole(cloud)),
    requirements: [{ check: 'pass-agreement', maxShift: LIMIT }],
  });
  if (report.crash) return report;
  const observations = [];
  let largest = 0;
  for (const pair of report.passPairs) {
    const [a, b] = [pair.a, pair.b].map((name) => means[Number(/\d+/.exec(name)[0]) - 11]);
    const planted = b.map((value, k) => value - a[k]);
    const whole = pair.shift.every((value) => value !== null);
    largest = Math.max(largest, Math.hypot(...planted));
    for (const { direction, shift, std } of pair.directions ?? []) {
      const claim = claimOf(direction, variant.options.azimuth ?? 0.13);
      if (claim === null) continue;
      observations.push({
        claim: `shift ${claim}, ${variant.title}`,
        unit: 'mm',
        planted: 1000 * direction.reduce((sum, part, k) => sum + part * planted[k], 0),
        reported: 1000 * shift,
        std: 1000 * std,
        tolerance: 1,
      });
    }
    ['x (along)', 'y (across)', 'z'].forEach((axis, k) => {
      observations.push({
        claim: `shift ${axis}${k < 2 || whole ? '' : ' where x or y is not revealed'}, ${variant.title}`,
        unit: 'mm',
        planted: 1000 * planted[k],
        reported: pair.shift[k] === null ? null : 1000 * pair.shift[k],
        std: pair.shiftStd[k] === null ? null : 1000 * pair.shiftStd[k],
        tolerance: 1,
      });
    });
  }
  observations.push({
    claim: `verdict on a shift above ${1000 * LIMIT} mm, ${variant.title}`,
    expected: largest > LIMIT * 1.1 ? 'fail' : largest < LIMIT * 0.9 ? 'pass' : 'any',
    verdict: report.requirements[0].verdict,
  });
  return { observations };
}

export const shiftCases = VARIANTS.map((variant) => ({
  id: `shift-${variant.id}`,
  runs: variant.runs,
  make: (random) => makeShift(variant, random),
}));
