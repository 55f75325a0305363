// Noise, density and gaps: planted against reported.
import { check, cut, filesOf, polygons, ring, scan, toStreet, toWorld, whole } from './delivery.js';
import { copyPoint, keepOnly } from './scan.js';

/** Two passes over 26 m of street; the carriageway of 7.6 m by 24 m is the zone that is judged. */
function base(random, options = {}) {
  const scanned = scan(random, { length: 26, passes: 2, linesPerSecond: 50, pulsesPerLine: 700, ...options });
  const outline = ring(scanned.place, -12, 12, -3.8, 3.8);
  return { ...scanned, zones: polygons({ carriageway: outline }) };
}

function noise(random) {
  const planted = random.pick([0.003, 0.006, 0.012]);
  const { cloud, scene, place, passes, zones } = base(random, { noise: planted });
  // The distances of the points of the carriageway from the known surface, pass by pass: what the check should find.
  const sums = new Map(passes.map(({ id }) => [id, [0, 0]]));
  for (let i = 0; i < cloud.count; i++) {
    const [u, v] = toStreet(place, cloud.x[i], cloud.y[i]);
    if (cloud.class[i] !== 11 || Math.abs(u) > 12 || Math.abs(v) > 3.8) continue;
    const sum = sums.get(cloud.pass[i]);
    sum[0] += (cloud.z[i] - place.height - scene.ground(u, v)) ** 2;
    sum[1]++;
  }
  const actual = Math.max(...[...sums.values()].map(([squares, count]) => Math.sqrt(squares / count)));
  const report = check({
    files: filesOf(cloud, whole(cloud)),
    zones,
    requirements: [{ check: 'surface-precision', maxRms: 0.0045, zone: 'carriageway' }],
  });
  if (report.crash) return report;
  const [{ verdict, measured }] = report.requirements;
  return {
    observations: [
      {
        claim: `noise, range noise ${1000 * planted} mm, as RMS from the surface (limit 4.5)`,
        unit: 'mm',
        planted: 1000 * actual,
        reported: measured.rms === null ? null : 1000 * measured.rms,
        tolerance: 50 * actual,
        expected: actual > 0.0045 ? 'fail' : 'pass',
        verdict,
      },
    ],
  };
}

function density(random) {
  const { cloud, place, zones } = base(random);
  const share = random.between(0.2, 1);
  keepOnly(cloud, () => random.uniform() < share);
  const cells = new Map();
  for (let i = 0; i < cloud.count; i++) {
    const key = `${Math.floor(cloud.x[i])} ${Math.floor(cloud.y[i])}`;
    cells.set(key, (cells.get(key) ?? 0) + 1);
  }
  // Cells wholly inside the zone, by their corners in the frame of the street.
  let sum = 0;
  let inside = 0;
  for (const [key, count] of cells) {
    const [x, y] = key.split(' ').map(Number);
    const corners = [0, 1, 2, 3].map((k) => toStreet(place, x + (k & 1), y + (k >> 1)));
    if (!corners.every(([u, v]) => Math.abs(u) <= 12 && Math.abs(v) <= 3.8)) continue;
    sum += count;
    inside++;
  }
  const mean = sum / inside;
  const min = mean * random.pick([0.05, 3]);
  const report = check({
    files: filesOf(cloud, cut(cloud, 25)),
    zones,
    requirements: [{ check: 'density', min, share: 0.98, zone: 'carriageway' }],
  });
  if (report.crash) return report;
  const [{ verdict, measured }] = report.requirements;
  return {
    observations: [
      {
        claim: 'mean density of a thinned carriageway',
        unit: 'pt/m2',
        planted: mean,
        reported: measured.mean,
        tolerance: 0.01 * mean,
        expected: min > mean ? 'fail' : 'pass',
        verdict,
      },
    ],
  };
}

/** A rectangle without points on the carriageway, anywhere and turned by any angle; the limit is 1 square metre. */
function voidOf(area) {
  return (random) => {
    const { cloud, place, zones } = base(random, { pulsesPerLine: 900, linesPerSecond: 60 });
    const longest = Math.min(20, 7 * Math.sqrt(area));
    const shape = random.between(1, 2.2);
    const width = Math.min(Math.sqrt(area / shape), 5.2);
    const length = Math.min(area / width, longest);
    // A wide one fits the road only along it.
    const angle = length > 5 ? random.between(-0.06, 0.06) : random.between(0, Math.PI);
    const half = Math.hypot(width, length) / 2;
    const room = Math.max(0, 3.6 - (length > 5 ? width / 2 + 0.6 : half));
    const [cu, cv] = [random.between(-1, 1) * Math.max(0, 11.5 - half), random.between(-1, 1) * room];
    keepOnly(cloud, (i) => {
      const [u, v] = toStreet(place, cloud.x[i], cloud.y[i]);
      const a = Math.cos(angle) * (u - cu) + Math.sin(angle) * (v - cv);
      const b = Math.cos(angle) * (v - cv) - Math.sin(angle) * (u - cu);
      return Math.abs(a) > length / 2 || Math.abs(b) > width / 2;
    });
    const report = check({
      files: filesOf(cloud, cut(cloud, 25)),
      zones,
      requirements: [{}, { cell: 0.5 }].map((cell) => ({ check: 'voids', maxArea: 1, ...cell, zone: 'carriageway' })),
    });
    if (report.crash) return report;
    return {
      observations: report.requirements.map(({ verdict, measured }, k) => ({
        claim: `gap of ${area} m2 anywhere, cells ${['as chosen', 'of 0.5 m'][k]} (limit 1 m2)`,
        unit: 'm2',
        planted: length * width,
        reported: measured.largestArea,
        tolerance: 0.15 * area,
        expected: area > 1 ? 'fail' : 'pass',
        verdict,
      })),
    };
  };
}

/** Where the border x of a tile runs through the street, near its middle. */
function border(place) {
  return Math.round(toWorld(place, 0, 0)[0]);
}

/** Cuts the cloud into two tiles at a border; a wide street along x. */
function halves(cloud, at) {
  const tiles = new Map([
    ['proof_west.las', []],
    ['proof_east.las', []],
  ]);
  for (let i = 0; i < cloud.count; i++) tiles.get(cloud.x[i] < at ? 'proof_west.las' : 'proof_east.las').push(i);
  return tiles;
}

function slit(width) {
  return (random) => {
    const { cloud, place, zones } = base(random);
    const at = border(place);
    const tiles = halves(cloud, at);
    const kept = new Map(
      [...tiles].map(([name, chosen]) => [name, chosen.filter((i) => Math.abs(cloud.x[i] - at) > width / 2)]),
    );
    const report = check({
      files: filesOf(cloud, kept),
      zones,
      requirements: [
        { check: 'edge-match', maxGap: 0.5 },
        { check: 'edge-match', maxGap: 0.5, depth: 4 },
        { check: 'voids', maxArea: 1, zone: 'carriageway' },
      ],
    });
    if (report.crash) return report;
    const names = ['edge-match as it is', 'edge-match with depth 4', 'voids (limit 1 m2)'];
    return {
      observations: report.requirements.map(({ verdict, measured }, k) => ({
        claim: `slit of ${width} m at a tile border, seen by ${names[k]}`,
        ...(k < 2 ? { unit: 'm', planted: width, reported: measured.gap, tolerance: 0.25 } : {}),
        expected: 'fail',
        verdict,
      })),
    };
  };
}

function movedTile(move, what) {
  return (random) => {
    const { cloud, place } = base(random, { walls: true });
    const tiles = halves(cloud, border(place));
    for (const i of tiles.get('proof_east.las')) {
      cloud.x[i] += move[0];
      cloud.y[i] += move[1];
      cloud.z[i] += move[2];
    }
    const report = check({
      files: filesOf(cloud, tiles),
      requirements: [{ check: 'edge-match', maxStep: 0.008, maxGap: 0.5 }],
    });
    if (report.crash) return report;
    const [{ verdict, measured }] = report.requirements;
    const sized = { unit: 'mm', planted: 1000 * move[2], reported: 1000 * Math.abs(measured.step), tolerance: 1 };
    return {
      observations: [
        { claim: `${what}, seen by edge-match (limit 8 mm)`, ...(move[2] ? sized : {}), expected: 'fail', verdict },
      ],
    };
  };
}

function duplicates(random) {
  const { cloud } = base(random);
  const share = random.pick([0.0002, 0.002, 0.02]);
  const original = cloud.count;
  for (let i = 0; i < original; i++) if (random.uniform() < share) copyPoint(cloud, i, cloud.count++);
  const planted = (cloud.count - original) / cloud.count;
  const report = check({ files: filesOf(cloud, cut(cloud, 25)), requirements: [{ check: 'duplicates' }] });
  if (report.crash) return report;
  const [{ verdict, measured }] = report.requirements;
  const observation = {
    claim: 'doubled points, 0.02 to 2 %',
    unit: '%',
    planted: 100 * planted,
    expected: 'fail',
    verdict,
  };
  return { observations: [{ ...observation, reported: 100 * measured.share, tolerance: 0.02 }] };
}

function isolated(random) {
  const { cloud, place } = base(random);
  const count = 40 + random.whole(400);
  const original = cloud.count;
  for (let k = 0; k < count; k++) {
    const to = cloud.count++;
    copyPoint(cloud, random.whole(original), to);
    [cloud.x[to], cloud.y[to]] = toWorld(place, random.between(-13, 13), random.between(-10, 10));
    cloud.z[to] = place.height + random.between(12, 60);
  }
  const report = check({
    files: filesOf(cloud, whole(cloud)),
    requirements: [{ check: 'isolated-points', maxShare: 0.00005 }],
  });
  if (report.crash) return report;
  const [{ verdict, measured }] = report.requirements;
  return {
    observations: [
      {
        claim: 'points alone in the air, 40 to 440',
        unit: 'points',
        planted: count,
        reported: measured.points,
        tolerance: 0.1 * count,
        expected: 'fail',
        verdict,
      },
    ],
  };
}

export const coverageCases = [
  { id: 'noise', runs: 5, make: noise },
  { id: 'density', runs: 3, make: density },
  ...[0.5, 1.5, 2, 4, 16, 100].map((area) => ({ id: `void-${area}`, runs: area < 16 ? 3 : 2, make: voidOf(area) })),
  ...[1.5, 3, 6].map((width) => ({ id: `slit-${width}`, runs: 2, make: slit(width) })),
  { id: 'tile-raised', runs: 3, make: movedTile([0, 0, 0.015], 'tile 15 mm too high') },
  { id: 'tile-moved-along', runs: 2, make: movedTile([0.03, 0, 0], 'tile moved by 30 mm along the road') },
  { id: 'tile-moved-across', runs: 2, make: movedTile([0, 0.03, 0], 'tile moved by 30 mm across the road') },
  { id: 'duplicates', runs: 3, make: duplicates },
  { id: 'isolated', runs: 2, make: isolated },
];
