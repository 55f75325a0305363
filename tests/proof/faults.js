// Faults of files, attributes and side files; most are there or not, so that only the verdict counts.
import { check, cut, filesOf, polygons, scan, whole } from './delivery.js';
import { keepOnly } from './scan.js';

const SMALL = { length: 20, passes: 2, linesPerSecond: 30, pulsesPerLine: 500 };

/** A case whose only observations are verdicts: `plan(random)` gives what check() takes and `claims`, one a requirement. */
function verdictCase(plan) {
  return (random) => {
    const { claims, ...asked } = plan(random);
    const report = check(asked);
    if (report.crash) return report;
    return {
      observations: claims.map(({ claim, expected = 'fail', ...sizes }, k) => ({
        claim,
        expected,
        verdict: expected === 'rejected' ? overall(report) : report.requirements[k].verdict,
        ...(sizes.figure
          ? {
              planted: sizes.planted,
              reported: report.requirements[k].measured[sizes.figure],
              tolerance: sizes.tolerance ?? 0,
            }
          : {}),
      })),
    };
  };
}

/** Where a tile cannot be read, only that the delivery is not accepted is asked. */
function overall(report) {
  return report.verdict === 'accepted' ? 'accepted' : 'rejected';
}

function oneOf(files, random) {
  const name = random.pick([...files.keys()]);
  return [name, files.get(name)];
}

/** A header field changed: bytes of one tile. */
function header(claim, change) {
  return verdictCase((random) => {
    const { cloud } = scan(random, SMALL);
    const files = filesOf(cloud, cut(cloud, 10));
    change(oneOf(files, random)[1], random);
    return { files, requirements: [{ check: 'header-agreement' }], claims: [{ claim }] };
  });
}

const wrongZone = verdictCase((random) => {
  const { cloud } = scan(random, SMALL);
  const tiles = cut(cloud, 10);
  const odd = random.pick([...tiles.keys()]);
  return {
    files: filesOf(cloud, tiles, (name) => ({ zone: name === odd ? 32 : 33 })),
    requirements: [{ check: 'crs' }],
    claims: [{ claim: 'one tile states the neighbouring UTM zone' }],
  };
});

const missingTile = verdictCase((random) => {
  const { cloud } = scan(random, SMALL);
  const tiles = cut(cloud, 10);
  const squares = {};
  for (const name of tiles.keys()) {
    const [x, y] = name.match(/\d+/g).map(Number);
    squares[name] = [
      [x, y],
      [x + 10, y],
      [x + 10, y + 10],
      [x, y + 10],
      [x, y],
    ];
  }
  const files = filesOf(cloud, tiles);
  const gone = random.pick([...files.keys()].filter((name) => tiles.get(name).length > 5000));
  files.delete(gone);
  return {
    files,
    tiles: polygons(squares, 'tile'),
    requirements: [{ check: 'tiling', index: true }],
    claims: [{ claim: 'a tile of the index is missing', figure: 'missing', planted: 1 }],
  };
});

const misplacedPoints = verdictCase((random) => {
  const { cloud } = scan(random, SMALL);
  const tiles = cut(cloud, 10);
  const names = [...tiles.keys()];
  const [from, to] = [names[0], names[1]];
  const moved = tiles.get(from).splice(0, 50);
  tiles.get(to).push(...moved);
  return {
    files: filesOf(cloud, tiles),
    requirements: [{ check: 'tiling', size: 10, name: 'proof_{x}_{y}' }],
    claims: [{ claim: '50 points in the tile beside their own', figure: 'outside', planted: moved.length }],
  };
});

const truncated = verdictCase((random) => {
  const { cloud } = scan(random, SMALL);
  const files = filesOf(cloud, cut(cloud, 10));
  const [name, bytes] = oneOf(files, random);
  files.set(name, bytes.subarray(0, Math.floor(bytes.length * random.between(0.2, 0.98))));
  return {
    files,
    requirements: [{ check: 'density', min: 0.01, share: 0.01 }],
    claims: [{ claim: 'a tile cut short: not accepted', expected: 'rejected' }],
  };
});

const rules = { check: 'point-attributes' };

const weekTimes = verdictCase((random) => {
  const { cloud } = scan(random, SMALL);
  for (let i = 0; i < cloud.count; i++) if (cloud.pass[i] === 12) cloud.time[i] = (cloud.time[i] + 1e9) % 604_800;
  return {
    files: filesOf(cloud, whole(cloud)),
    requirements: [rules, { ...rules, capturedFrom: '2025-06-01', capturedTo: '2025-12-31' }],
    claims: [
      { claim: 'a pass with seconds of the week where standard time is stated' },
      { claim: 'the same with the days of capture agreed' },
    ],
  };
});

const wrongWeek = verdictCase((random) => {
  const { cloud } = scan(random, SMALL);
  // 433,200,000 s plus 1e9 after 6 January 1980 less leap seconds is 9 June 2025 (computed).
  for (let i = 0; i < cloud.count; i++) if (cloud.pass[i] === 12) cloud.time[i] -= 4 * 604_800;
  return {
    files: filesOf(cloud, whole(cloud)),
    requirements: [rules, { ...rules, capturedFrom: '2025-06-01', capturedTo: '2025-06-30' }],
    claims: [
      { claim: 'a pass four weeks too early, days of capture not agreed' },
      { claim: 'a pass four weeks too early, days of capture agreed' },
    ],
  };
});

const unequalPulses = verdictCase((random) => {
  const { cloud } = scan(random, { ...SMALL, bushes: 14 });
  const share = random.between(0.02, 0.5);
  let planted = 0;
  for (let i = 0; i < cloud.count; i++) {
    if (cloud.returnNumber[i] !== 2 || random.uniform() > share) continue;
    cloud.time[i] += 2e-6;
    planted++;
  }
  return {
    files: filesOf(cloud, whole(cloud)),
    requirements: [rules],
    claims: [
      {
        claim: 'second returns 2 microseconds after the first',
        figure: 'pulseTimeUnequal',
        planted,
        tolerance: 0.1 * planted,
      },
    ],
  };
});

const returnsWrong = verdictCase((random) => {
  const { cloud } = scan(random, SMALL);
  const planted = 1 + random.whole(20);
  for (let k = 0; k < planted; k++) cloud.returnNumber[100 * k + random.whole(100)] = 3;
  return {
    files: filesOf(cloud, whole(cloud)),
    requirements: [rules],
    claims: [{ claim: 'return numbers above their count', figure: 'returnAboveCount', planted }],
  };
});

const bushesAsGround = verdictCase((random) => {
  const { cloud } = scan(random, { ...SMALL, bushes: 14 });
  for (let i = 0; i < cloud.count; i++) {
    if (cloud.class[i] === 11) cloud.class[i] = 2;
    if (cloud.class[i] === 5 && random.uniform() < 0.6) cloud.class[i] = 2;
  }
  return {
    files: filesOf(cloud, whole(cloud)),
    requirements: [{ check: 'classification', maxHighGround: 0.002 }],
    claims: [{ claim: 'leaves classified as ground' }],
  };
});

const groundLeftOut = verdictCase((random) => {
  const { cloud } = scan(random, SMALL);
  // Half of the ground is left unclassified: the rest alone cannot show it by its heights.
  for (let i = 0; i < cloud.count; i++) {
    if (cloud.class[i] === 11) cloud.class[i] = 2;
    if (cloud.class[i] === 2 && random.uniform() < 0.5) cloud.class[i] = 1;
  }
  return {
    files: filesOf(cloud, whole(cloud)),
    requirements: [
      { check: 'classification', maxNotLowest: 0.05, maxHighGround: 0.05, maxLowGround: 0.05 },
      { check: 'classification', shares: [{ class: 2, min: 0.6, max: 1 }] },
    ],
    claims: [
      { claim: 'half of the ground unclassified, by heights' },
      { claim: 'half of the ground unclassified, by its share (0.6 asked)' },
    ],
  };
});

const feetTile = verdictCase((random) => {
  const { cloud } = scan(random, SMALL);
  const tiles = cut(cloud, 10);
  const odd = random.pick([...tiles.keys()].filter((name) => tiles.get(name).length > 5000));
  for (const i of tiles.get(odd)) cloud.z[i] /= 0.3048;
  return {
    files: filesOf(cloud, tiles),
    requirements: [{ check: 'crs' }, { check: 'edge-match', maxStep: 0.05 }],
    claims: [
      { claim: 'one tile with heights in feet, seen by crs' },
      { claim: 'one tile with heights in feet, seen by edge-match' },
    ],
  };
});

const lostPass = verdictCase((random) => {
  const { cloud } = scan(random, SMALL);
  keepOnly(cloud, (i) => cloud.pass[i] !== 12 || cloud.time[i] % 600 < 1.2);
  return {
    files: filesOf(cloud, whole(cloud)),
    requirements: [{ check: 'coverage', passes: 2, minShare: 0.9 }],
    claims: [{ claim: 'half of a pass is missing, two passes asked' }],
  };
});

/**
 * Two heads, one off in roll, driven in both directions: 2 mrad tilt what one head sees by 2 mm a metre to the side. Passes
 * are the heads of every drive, and the heads of one drive are judged against each other.
 */
function headsCase(roll) {
  return (random) => {
    const heads = [{ yaw: 0.6 }, { yaw: -0.6, mounting: [roll, 0, 0] }];
    const { cloud } = scan(random, {
      length: 24,
      passes: 2,
      linesPerSecond: 30,
      pulsesPerLine: 600,
      heads,
      walls: true,
    });
    const files = filesOf(cloud, whole(cloud));
    const agreement = (more) => ({ check: 'pass-agreement', maxRmsDz: 0.003, ...more });
    const report = check({
      files,
      passes: { by: ['point-source-id', 'scanner-channel'] },
      requirements: [agreement({ pairs: 'within-drive' }), agreement({ pairs: 'all' })],
    });
    const byHead = check({ files, passes: { by: 'scanner-channel' }, requirements: [agreement()] });
    if (report.crash || byHead.crash) return report.crash ? report : byHead;
    const text = `two heads, ${1000 * roll} mrad mutual roll, both directions`;
    const expected = roll === 0 ? 'pass' : 'fail';
    const [within, all] = report.requirements;
    return {
      observations: [
        { claim: `${text}, heads of one drive, maxRmsDz 3 mm`, expected, verdict: within.verdict },
        { claim: `${text}, all heads and drives, maxRmsDz 3 mm`, expected, verdict: all.verdict },
        {
          claim: `${text}, by scanner channel alone (all drives of a head are one pass), maxRmsDz 3 mm`,
          expected,
          verdict: byHead.requirements[0].verdict,
        },
      ],
    };
  };
}

export const faultCases = [
  {
    id: 'header-box',
    runs: 3,
    make: header('header: largest x 5 m too small', (bytes) => bytes.writeDoubleLE(bytes.readDoubleLE(179) - 5, 179)),
  },
  {
    id: 'header-box-fine',
    runs: 3,
    make: header('header: least z 10 mm too high', (bytes) => bytes.writeDoubleLE(bytes.readDoubleLE(219) + 0.01, 219)),
  },
  {
    id: 'header-returns',
    runs: 3,
    make: header('header: one point more of the first return', (bytes) =>
      bytes.writeBigUInt64LE(bytes.readBigUInt64LE(255) + 1n, 255),
    ),
  },
  { id: 'crs-tile', runs: 3, make: wrongZone },
  { id: 'tile-missing', runs: 3, make: missingTile },
  { id: 'tile-misplaced', runs: 2, make: misplacedPoints },
  { id: 'tile-truncated', runs: 4, make: truncated },
  { id: 'time-of-week', runs: 2, make: weekTimes },
  { id: 'time-wrong-week', runs: 2, make: wrongWeek },
  { id: 'pulse-times', runs: 3, make: unequalPulses },
  { id: 'return-numbers', runs: 2, make: returnsWrong },
  { id: 'class-leaves', runs: 3, make: bushesAsGround },
  { id: 'class-ground', runs: 2, make: groundLeftOut },
  { id: 'feet-tile', runs: 3, make: feetTile },
  { id: 'pass-lost', runs: 2, make: lostPass },
  { id: 'heads-2', runs: 3, make: headsCase(0.002) },
  { id: 'heads-0', runs: 2, make: headsCase(0) },
];
