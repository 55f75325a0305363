// Sound deliveries of many kinds: every requirement that can be met should be met. What is not is a false alarm.
import { check, cut, filesOf, polygons, ring, scan } from './delivery.js';
import { surveyCsv } from './survey.js';

const HEADS = [{ yaw: 0.6 }, { yaw: -0.6 }];
const WALLS = { walls: true, heads: HEADS };

/** `open`: the scene does not show a shift along the road. */
const KINDS = [
  { id: 'street', options: WALLS },
  { id: 'street with bushes', options: { ...WALLS, bushes: 12 } },
  { id: 'street on the grid', options: { ...WALLS, azimuth: 0, onFaces: true } },
  { id: 'street at 45 degrees', options: { ...WALLS, azimuth: Math.PI / 4 } },
  { id: 'steep street, 8 % grade, 5 % crossfall', options: { ...WALLS, grade: 0.08, crossfall: 0.05 } },
  { id: 'no kerbs', options: { ...WALLS, kerb: false } },
  { id: 'country road without walls', options: { poles: false }, open: true },
  { id: 'tunnel', options: { tunnel: true, poles: false }, open: true },
  { id: 'rails', options: { ...WALLS, rails: true } },
  { id: 'quay', options: { ...WALLS, quay: true } },
  { id: 'four passes', options: { walls: true, passes: 4 } },
  { id: 'all passes in one direction', options: { ...WALLS, sameDirection: true } },
  { id: 'fine scanner, 2 mm noise', options: { ...WALLS, noise: 0.002 } },
];

const ZONE = { zone: 'carriageway' };
const REQUIREMENTS = [
  { check: 'las-structure' },
  { check: 'header-agreement' },
  { check: 'crs' },
  { check: 'point-attributes' },
  { check: 'duplicates' },
  { check: 'tiling', size: 20, name: 'proof_{x}_{y}' },
  { check: 'density', min: 30, share: 0.98, ...ZONE },
  { check: 'point-distribution', spacing: 0.15, minShare: 0.9, ...ZONE },
  { check: 'voids', maxArea: 0.5, ...ZONE },
  { check: 'coverage', passes: 2, minShare: 0.95, ...ZONE },
  { check: 'vertical-accuracy', maxRmse: 0.015, maxMean: 0.006, radius: 0.3 },
  { check: 'survey-point-set', minSpacingShare: 0.01, minSpread: 0.3 },
  { check: 'pass-agreement', maxRmsDz: 0.006, maxDz: 0.03 },
  { check: 'pass-agreement', maxShift: 0.004 },
  { check: 'surface-precision', maxRms: 0.0065 },
  { check: 'pass-drift', maxOffset: 0.004, minBins: 2 },
  { check: 'isolated-points', maxShare: 0.001 },
  { check: 'edge-match', maxStep: 0.006, maxGap: 1 },
  { check: 'classification', ground: [2, 11], maxHighGround: 0.02, maxLowGround: 0.02 },
];

function sound(kind) {
  return (random) => {
    const scanned = scan(random, { length: 24, passes: 2, pulsesPerLine: 800, linesPerSecond: 40, ...kind.options });
    const report = check({
      files: filesOf(scanned.cloud, cut(scanned.cloud, 20)),
      points: surveyCsv(scanned, random, 32, () => 0.003 * random.normal()),
      zones: polygons({ carriageway: ring(scanned.place, -10, 10, -3.6, 3.6) }),
      requirements: REQUIREMENTS,
    });
    if (report.crash) return report;
    const observations = report.requirements.map(({ verdict }, k) => {
      const { check: name, maxShift } = REQUIREMENTS[k];
      const shift = maxShift ? ` (maxShift), ${kind.open ? 'nothing shows a shift along' : 'walls on all sides'}` : '';
      const expected = maxShift && kind.open ? 'undetermined' : 'pass';
      return { claim: `sound: ${name}${shift || (name === 'pass-agreement' ? ' (maxRmsDz)' : '')}`, expected, verdict };
    });
    const failed = report.requirements.some(({ verdict }) => verdict === 'fail') ? 'false alarm' : 'none';
    observations.push({ claim: `sound: no false alarm, ${kind.id}`, expected: 'none', verdict: failed });
    return { observations };
  };
}

export const soundCases = KINDS.map((kind) => ({
  id: `sound-${kind.id.replaceAll(/[^a-z0-9]+/g, '-')}`,
  runs: 1,
  make: sound(kind),
}));
