// Seeded mutations of everything a delivery is made of. The same seed and number give the same mutation on every machine.
import { readFileSync } from 'node:fs';
import { Random } from '../../dist/src/simulate/scene/random.js';
import { ruleBreakers } from '../../dist/test-clouds/mutator/breaks.js';
import { soundClouds } from '../../dist/test-clouds/mutator/sound-clouds.js';

const root = new URL('../../', import.meta.url);
const specs = ['quay-road', 'rail-corridor', 'coast-airborne'].map((name) =>
  readFileSync(new URL(`specs/${name}.json`, root), 'utf8'),
);

const csv = `id;easting;northing;height;role;surface;sigma_h;sigma_v
CP01;561000,500;5932000,500;3,317;check;hard;0,008;0,005
CP02;561001,002;5932002,115;3,950;control;vegetated;0,008;0,005
CP03;561003,750;5931999,000;4,000;;;;
`;
const plainCsv =
  'id,x,y,z (m),cloud_x,cloud_y,cloud_z\n1,561000.5,5932000.5,3.3,561000.51,5932000.49,3.31\n2,561002,5932001,3.4,,,\n';
const zones = JSON.stringify({
  type: 'FeatureCollection',
  features: [
    {
      type: 'Feature',
      properties: { name: 'carriageway' },
      geometry: {
        type: 'Polygon',
        coordinates: [
          [
            [560990, 5931990],
            [561020, 5931990],
            [561020, 5932020],
            [560990, 5932020],
            [560990, 5931990],
          ],
        ],
      },
    },
    {
      type: 'Feature',
      properties: { zone: 'kerb' },
      geometry: {
        type: 'MultiPolygon',
        coordinates: [
          [
            [
              [561000, 5932000],
              [561001, 5932000],
              [561001, 5932001],
              [561000, 5932000],
            ],
          ],
        ],
      },
    },
  ],
});
const geoPoints = JSON.stringify({
  type: 'FeatureCollection',
  features: [
    {
      type: 'Feature',
      properties: { id: 'CP1', role: 'check' },
      geometry: { type: 'Point', coordinates: [561000.5, 5932000.5, 3.3] },
    },
    {
      type: 'Feature',
      properties: { id: 'CP2', sigma_v: 0.01 },
      geometry: { type: 'Point', coordinates: [561001.5, 5932001.5, 3.4] },
    },
  ],
});
const manifest = `${'0123456789abcdef'.repeat(4)}  tile.laz\n${'f'.repeat(64)} *sub/other.laz\n`;

const texts = { spec: specs, csv: [csv, plainCsv], zones: [zones], geopoints: [geoPoints], manifest: [manifest] };

let bases = null;
/** Clouds to start from: sound ones of every kind, and some that break a rule already. */
function cloudBases() {
  if (bases) return bases;
  const sound = soundClouds(1);
  const files = Object.entries(sound)
    .filter(([kind, make]) => typeof make === 'function' && kind !== 'lasOf')
    .map(([kind, make]) => ({ name: kind, bytes: make() }));
  // Compressed and tiled ones are what hides most.
  const often = files.filter(({ name }) => /laz|copc/.test(name));
  const broken = ruleBreakers(2).filter(({ size, bytes }) => size === bytes.length);
  bases = { files: [...files, ...often, ...often], broken };
  return bases;
}

const NUMBERS = [
  0n,
  1n,
  2n,
  3n,
  255n,
  256n,
  65535n,
  0x7fffffffn,
  0x80000000n,
  0xfffffffen,
  0xffffffffn,
  2n ** 32n,
  2n ** 53n,
  2n ** 60n,
  2n ** 63n - 1n,
  2n ** 63n,
  2n ** 64n - 1n,
];
const FLOATS = [0, -0, Number.NaN, Infinity, -Infinity, 1e308, -1e308, 5e-324, 1e15, -1e15, 4.2e9, 0.5];

function pick(random, list) {
  return list[random.below(list.length)];
}

/** Ranges of bytes that mean something: a mutation that hits none of them teaches little. */
function regionsOf(bytes) {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const regions = { header: [0, Math.min(393, bytes.length)] };
  if (bytes.length < 227) return regions;
  const points = Math.min(view.getUint32(96, true), bytes.length);
  const size = Math.min(view.getUint16(94, true), bytes.length);
  if (points > size) regions.records = [size, points];
  if (points < bytes.length) regions.points = [points, bytes.length];
  if (bytes[104] & 0x80 && points + 8 <= bytes.length) {
    const table = Number(view.getBigInt64(points, true));
    regions.pointer = [points, points + 8];
    if (table >= points + 8 && table + 8 <= bytes.length) {
      regions.table = [table, Math.min(table + 40, bytes.length)];
      regions.chunk = [points + 8, Math.min(points + 8 + 120, table)];
    }
  }
  if (bytes[25] >= 4 && bytes.length >= 375) {
    const evlr = Number(view.getBigUint64(235, true));
    if (evlr > 0 && evlr + 60 <= bytes.length) regions.evlr = [evlr, bytes.length];
  }
  if (bytes.length > 590 && bytes[377] === 99) regions.info = [375, 589];
  return regions;
}

function mutateCloud(random) {
  const { files, broken } = cloudBases();
  const base = random.below(5) === 0 ? pick(random, broken) : pick(random, files);
  let bytes = new Uint8Array(base.bytes);
  const steps = [];
  for (let k = 1 + random.below(4); k > 0 && bytes.length > 8; k--) {
    const regions = regionsOf(bytes);
    const name = pick(random, Object.keys(regions));
    const [begin, end] = regions[name];
    const at = Math.min(begin + random.below(Math.max(1, end - begin)), bytes.length - 1);
    const view = new DataView(bytes.buffer);
    const op = random.below(10);
    const room = bytes.length - at;
    if (op === 0) bytes[at] ^= 1 << random.below(8);
    else if (op === 1) bytes[at] = random.below(256);
    else if (op <= 4) {
      const width = pick(random, [1, 2, 4, 8]);
      if (room < width) continue;
      const value =
        random.below(3) === 0 ? BigInt(bytes.length + random.below(200) - 100) & 0xffffffffn : pick(random, NUMBERS);
      if (width === 1) bytes[at] = Number(value & 255n);
      else if (width === 2) view.setUint16(at, Number(value & 65535n), true);
      else if (width === 4) view.setUint32(at, Number(value & 0xffffffffn), true);
      else view.setBigUint64(at, value & 0xffffffffffffffffn, true);
    } else if (op === 5) {
      // Scale, offset, extent and times are doubles at known places.
      const place = name === 'info' ? 429 + 8 * random.below(9) : 131 + 8 * random.below(12);
      if (place + 8 > bytes.length) continue;
      view.setFloat64(place, pick(random, FLOATS), true);
    } else if (op === 6) bytes.fill(pick(random, [0, 255, 65]), at, at + Math.min(room, 1 + random.below(200)));
    else if (op === 7) bytes = bytes.slice(0, at);
    else if (op === 8) {
      const other = pick(random, files).bytes;
      const from = random.below(other.length);
      const piece = other.subarray(from, from + 1 + random.below(300));
      bytes.set(piece.subarray(0, Math.min(piece.length, room)), at);
    } else {
      const longer = new Uint8Array(bytes.length + 1 + random.below(300));
      longer.set(bytes.subarray(0, at));
      longer.set(bytes.subarray(at), at + longer.length - bytes.length);
      bytes = longer;
    }
    steps.push(`${name}@${at}:${op}`);
  }
  return { kind: 'cloud', what: `${base.name ?? base.rule} ${steps.join(' ')}`, bytes };
}

const TOKENS = [
  '<script>alert(1)</script>',
  '</script>',
  '"><img src=x onerror=alert(1)>',
  '../../../../etc/passwd',
  '\u0000',
  '\ufeff',
  '\u202e',
  '1e999',
  '-1e999',
  '1e-999',
  'NaN',
  'Infinity',
  '999999999999999999999',
  '-0',
  '0x10',
  '__proto__',
  'constructor',
  'toString',
  '"',
  '\\',
  ';',
  ',',
  '\t',
  '\r\n',
  '\n',
  '[',
  '{',
  'null',
  'true',
  "'",
  '﷽',
  '\ud800',
  'ä',
  '€',
  '=cmd|x',
  '%s%n',
  '$' + '{x}',
  '.',
  ' ',
];

function mutateText(random, kind) {
  let text = pick(random, texts[kind]);
  const json = kind !== 'csv' && kind !== 'manifest';
  if (json && random.below(2) === 0) text = mutateJson(random, text);
  else {
    for (let k = 1 + random.below(4); k > 0; k--) {
      const at = random.below(text.length + 1);
      const op = random.below(6);
      if (op === 0) text = text.slice(0, at) + text.slice(at + 1 + random.below(20));
      else if (op === 1) text = text.slice(0, at) + pick(random, TOKENS) + text.slice(at);
      else if (op === 2) text = text.slice(0, at);
      else if (op === 3) {
        const from = random.below(text.length + 1);
        text = text.slice(0, at) + text.slice(from, from + 80) + text.slice(at);
      } else if (op === 4)
        text = text.slice(0, at) + pick(random, TOKENS).repeat(1 + random.below(3000)) + text.slice(at);
      else text = text.slice(0, at) + String.fromCharCode(random.below(0x2100)) + text.slice(at + 1);
    }
  }
  return { kind, what: `${kind} of ${text.length} characters`, text };
}

const VALUES = [
  null,
  true,
  false,
  0,
  -1,
  1e308,
  -1e308,
  1e-320,
  2 ** 53,
  '',
  'x',
  '<script>alert(1)</script>',
  '../../x',
  [],
  {},
  [[]],
  [null],
  { __proto__: null },
  'a'.repeat(5000),
  '__proto__',
];

/** One or two values of a JSON text replaced, dropped, moved or nested deeply. */
function mutateJson(random, text) {
  const value = JSON.parse(text);
  for (let k = 1 + random.below(2); k > 0; k--) {
    const places = [];
    const visit = (node) => {
      if (node === null || typeof node !== 'object') return;
      for (const key of Object.keys(node)) {
        places.push([node, key]);
        visit(node[key]);
      }
    };
    visit(value);
    if (places.length === 0) break;
    const [node, key] = pick(random, places);
    const op = random.below(5);
    if (op === 0) delete node[key];
    else if (op === 1) node[key] = structuredClone(pick(random, VALUES));
    else if (op === 2)
      node[pick(random, ['x', '__proto__x', 'toString', 'min', 'cell', 'voxel', 'id'])] = structuredClone(node[key]);
    else if (op === 3) {
      let deep = node[key];
      for (let d = random.below(400); d > 0; d--) deep = [deep];
      node[key] = deep;
    } else
      node[key] =
        typeof node[key] === 'number'
          ? pick(random, [0, -1, 1e-9, 1e9, 1e308, node[key] * -1])
          : structuredClone(pick(random, VALUES));
  }
  return JSON.stringify(value);
}

/** Mutation number `index` of a seed. `full`: to be checked and reported as a whole delivery, side files and all. */
export function mutation(seed, index) {
  const random = new Random(seed * 7_919 + index * 104_729 + 1);
  const draw = random.below(100);
  if (draw < 76) return { ...mutateCloud(random), full: random.below(60) === 0 };
  const kind = draw < 82 ? 'spec' : draw < 88 ? 'csv' : draw < 93 ? 'zones' : draw < 97 ? 'geopoints' : 'manifest';
  return { ...mutateText(random, kind), full: random.below(60) === 0 };
}

export const sideFiles = { csv, zones, manifest };
