// Targets painted on the ground, without a file: points with brightness go to the program's own fit. Sound targets, corners with bars of
// other widths, and targets that have lost three tenths of their paint in patches.
import { fitTarget } from '../../dist/src/geometry/target-fit.js';

const SIZE = 0.3;
const HALF = SIZE / 2;
const RADIUS = 0.75;
const PER_SQUARE_METRE = 1000;
/** Radius of a laser spot, scatter of places, metres; noise of brightness, share of the contrast. */
const SPOT = 0.006;
const SCATTER = 0.002;
const NOISE = 0.1;

/** Whether a place of the target's own axes is bright, dark plate or ground: 1, -0.25, 0 of the contrast. */
const PAINT = {
  disc: (u, v) => (u * u + v * v < HALF * HALF ? 1 : 0),
  checker: (u, v) => (Math.abs(u) > HALF || Math.abs(v) > HALF ? 0 : u * v > 0 ? 1 : -0.25),
  cross: (u, v, bar) =>
    (Math.abs(u) < HALF && Math.abs(v) < bar / 2) || (Math.abs(v) < HALF && Math.abs(u) < bar / 2) ? 1 : 0,
  corner: (u, v, bar) => (Math.min(u, v) > 0 && Math.max(u, v) < SIZE && Math.min(u, v) < bar ? 1 : 0),
};

/** Points on and around a target, the true place, and the fit. `patch`: edge of the patches of missing paint, metres. */
function located(random, { kind, bar = 0.2, patch = null }) {
  const target = {
    x: random.between(-0.15, 0.15),
    y: random.between(-0.15, 0.15),
    angle: random.between(0, 2 * Math.PI),
  };
  const [cos, sin] = [Math.cos(target.angle), Math.sin(target.angle)];
  const gone = new Map();
  const paint = (x, y) => {
    const u = (x - target.x) * cos + (y - target.y) * sin;
    const v = (y - target.y) * cos - (x - target.x) * sin;
    const level = PAINT[kind](u, v, bar * SIZE);
    if (level !== 1 || patch === null) return level;
    const key = `${Math.floor(u / patch)},${Math.floor(v / patch)}`;
    if (!gone.has(key)) gone.set(key, random.uniform() < 0.3);
    return gone.get(key) ? 0 : 1;
  };
  const n = Math.round(PER_SQUARE_METRE * Math.PI * RADIUS * RADIUS);
  const [x, y, value] = [new Float64Array(n), new Float64Array(n), new Float64Array(n)];
  for (let i = 0; i < n; i++) {
    const [r, a] = [RADIUS * Math.sqrt(random.uniform()), 2 * Math.PI * random.uniform()];
    const [px, py] = [r * Math.cos(a), r * Math.sin(a)];
    let sum = 0;
    for (let k = 0; k < 12; k++) {
      const [s, b] = [SPOT * Math.sqrt((k + 0.5) / 12), 2.4 * k];
      sum += paint(px + s * Math.cos(b), py + s * Math.sin(b));
    }
    x[i] = px + SCATTER * random.normal();
    y[i] = py + SCATTER * random.normal();
    value[i] = 10_000 + 20_000 * (sum / 12 + NOISE * random.normal());
  }
  return { target, fit: fitTarget(kind, SIZE, x, y, value, n, { search: 0.3 }) };
}

const KINDS = ['disc', 'checker', 'cross', 'corner'];
const SCENES = [
  ...KINDS.map((kind) => ({ words: `target: ${kind}`, kind })),
  ...[0.12, 0.35, 0.45].map((bar) => ({ words: `target: corner, bars ${bar} of its size wide`, kind: 'corner', bar })),
  { words: 'target: corner, bars 0.7 of its size wide', kind: 'corner', bar: 0.7, refused: true },
  ...KINDS.flatMap((kind) =>
    [0.01, 0.03, 0.06].map((patch) => ({
      words: `target: ${kind}, 30 % of the paint missing in patches of ${100 * patch} cm`,
      kind,
      patch,
    })),
  ),
];
/** Targets of one run for each scene. */
const TARGETS = 5;

function observe(random, scene) {
  const { target, fit } = located(random, scene);
  const found = !('refused' in fit);
  if (scene.refused) return [{ claim: scene.words, expected: 'refused', verdict: found ? 'found' : 'refused' }];
  return ['x', 'y'].map((axis) => ({
    claim: scene.words,
    unit: 'mm',
    planted: 1000 * target[axis],
    reported: found ? 1000 * fit.pose[axis] : null,
    ...(found ? { std: 1000 * fit[`${axis}Std`] } : {}),
    tolerance: 0.5,
  }));
}

function targets(random) {
  const observations = SCENES.flatMap((scene) => Array.from({ length: TARGETS }, () => observe(random, scene)).flat());
  return { observations };
}

export const targetCases = [{ id: 'target', runs: 4, make: targets }];
