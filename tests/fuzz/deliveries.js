// Whole deliveries of several damaged and sound tiles, with a random spec, for two workers. The same seed and number give the
// same delivery on every machine.
import { Random } from '../../dist/src/simulate/scene/random.js';
import { mutation } from './mutations.js';
import { sound } from './sound.js';

/** One attempt in so many is such a delivery. */
const EVERY = 250;

/** Whether attempt `index` is a whole delivery of several tiles. */
export function isDelivery(index) {
  return index % EVERY === EVERY - 1;
}

function pick(random, list) {
  return list[random.below(list.length)];
}

const LENGTHS = [0.05, 0.25, 0.5, 1, 3, 20];
const SHARES = [0, 0.001, 0.1, 0.5, 0.9, 1];
const COUNTS = [1, 3, 10, 100];

const FORMATS = {
  versions: [['1.2'], ['1.4'], ['1.2', '1.3', '1.4']],
  pointFormats: [[6], [1, 3], [6, 7, 8]],
  containers: [['LAS'], ['LAZ', 'COPC']],
  maxScale: [0.0001, 0.001, 0.01],
};
const CLASSES = { layout: ['area', 'corridor'], verticalClass: LENGTHS, horizontalClass: LENGTHS };

/** What can be asked of a check: the names of its options and their kinds. */
const ASKED = [
  ['las-structure', {}],
  ['header-agreement', {}],
  ['crs', {}],
  ['transfer-integrity', {}],
  ['density', { min: COUNTS, cell: LENGTHS, share: SHARES, count: ['all', 'first', 'last', 'only'] }],
  ['voids', { maxArea: LENGTHS, cell: LENGTHS, count: ['all', 'first', 'last', 'only'] }],
  ['coverage', { minShare: SHARES, cell: LENGTHS, passes: COUNTS }],
  ['vertical-accuracy', { maxRmse: LENGTHS, minPoints: COUNTS, radius: LENGTHS, method: ['plane', 'tin', 'idw'] }],
  ['horizontal-accuracy', { maxRmse: LENGTHS, minPoints: COUNTS, search: LENGTHS }],
  ['pass-agreement', { maxRmsDz: LENGTHS, maxShift: LENGTHS, voxel: LENGTHS, method: ['planes', 'cells'] }],
  ['pass-drift', { maxOffset: LENGTHS, maxStep: LENGTHS, bin: LENGTHS, minBins: COUNTS }],
  ['surface-precision', { maxRms: LENGTHS, voxel: LENGTHS, minPoints: [4, 10, 100], method: ['planes', 'cells'] }],
  ['point-attributes', { maxViolations: COUNTS }],
  ['point-distribution', { spacing: LENGTHS, minShare: SHARES, perPass: [true, false] }],
  ['duplicates', { same: ['xyz', 'xyz-time-return'], maxShare: SHARES, sample: [1, 100, 2000] }],
  ['isolated-points', { maxShare: SHARES, voxel: LENGTHS, minNeighbours: COUNTS }],
  ['tiling', { size: LENGTHS, tolerance: LENGTHS }],
  ['edge-match', { maxStep: LENGTHS, maxGap: LENGTHS, cell: LENGTHS, depth: LENGTHS, minCells: COUNTS }],
  ['file-format', FORMATS],
  [
    'accuracy-3d',
    { maxRmse: LENGTHS, minPoints: COUNTS, radius: LENGTHS, search: LENGTHS, standard: ['asprs-2023', 'nssda-1998'] },
  ],
  [
    'survey-point-set',
    {
      minPoints: COUNTS,
      minQuadrantShare: [0.1, 0.25],
      minSpacingShare: [0.1, 0.5],
      minSpread: [0.1, 0.9],
      ...CLASSES,
    },
  ],
  ['classification', { maxHighGround: SHARES, maxNotLowest: SHARES, cell: LENGTHS }],
];
const SURVEY = ['vertical-accuracy', 'horizontal-accuracy', 'accuracy-3d', 'survey-point-set'];

/** A spec of one to eight requirements. About one of ten options is left out, so that some are refused. */
function randomSpec(random) {
  const requirements = Array.from({ length: 1 + random.below(8) }, (_, k) => {
    const [check, options] = pick(random, ASKED);
    const requirement = { id: `R${k + 1}`, check };
    for (const [name, values] of Object.entries(options))
      if (random.below(10) > 0) requirement[name] = pick(random, values);
    if (random.below(4) === 0) requirement.decision = 'guarded';
    if (random.below(4) === 0) requirement.level = 'advisory';
    return requirement;
  });
  const passes = pick(random, [
    { by: 'point-source-id' },
    { by: 'file' },
    { by: 'scanner-channel' },
    { by: ['point-source-id', 'scanner-channel'] },
    { by: ['file', 'gps-time-gap'], gap: pick(random, [1, 60]) },
    { by: 'gps-time-gap', gap: pick(random, [0.001, 1, 60]) },
  ]);
  return { spec: '1', title: 'random', passes, requirements };
}

/** Tiles, the text of the spec, and whether survey points and a manifest are asked for. */
export function damagedDelivery(seed, index) {
  const random = new Random(seed * 15_485_863 + index * 32_452_843 + 5);
  const tiles = [];
  const what = [];
  const count = 2 + random.below(4);
  for (let number = 0; tiles.length < count; number++) {
    if (random.below(4) === 0) {
      tiles.push({ name: `tile_${tiles.length}.laz`, bytes: sound });
      what.push('sound');
      continue;
    }
    const mutated = mutation(seed + 1_000_003, index * 50 + number);
    if (mutated.kind !== 'cloud') continue;
    tiles.push({ name: `tile_${tiles.length}.${pick(random, ['las', 'laz'])}`, bytes: mutated.bytes });
    what.push(mutated.what);
  }
  const spec = randomSpec(random);
  const uses = (names) => spec.requirements.some(({ check }) => names.includes(check));
  return {
    tiles,
    what: `${what.join('; ')}\n${JSON.stringify(spec)}`,
    spec: JSON.stringify(spec),
    points: uses(SURVEY),
    manifest: uses(['transfer-integrity']),
    cache: random.below(3) === 0,
  };
}
