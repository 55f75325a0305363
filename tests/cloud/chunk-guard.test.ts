import { describe, expect, test } from 'vitest';
import { ALL_COLUMNS } from '../../src/cloud/columns.js';
import { openCloud } from '../../src/cloud/open.js';
import { Fault } from '../../src/fault.js';
import { type ChunkPlace, encodeLazWithChunks } from '../../src/simulate/encoder/laz-encoder.js';
import { Random } from '../../src/simulate/scene/random.js';
import { writeLas } from '../../src/simulate/writer/las-writer.js';
import { createSceneColumns, type SceneColumns } from '../../src/simulate/writer/point-columns.js';
import { DVR90, UTM32 } from '../../src/simulate/writer/reference-systems.js';
import { encodeCopc } from '../../test-clouds/encoder/copc-encoder.js';
import { MemorySource } from './memory-source.js';

// No outside reference: what counts is that damage is told and that sound files, odd ones too, are not accused. First points
// of chunks stand as they are (LASzip specification), so one turned bit moves the whole chunk.

const CHUNK = 600;
const CHUNKS = 7;

/** A walk through a street in order of time: chunk after chunk a little further on. */
function walk(change: (points: SceneColumns) => void = () => {}): SceneColumns {
  const random = new Random(4);
  const points = createSceneColumns(CHUNK * CHUNKS);
  points.count = CHUNK * CHUNKS;
  for (let i = 0; i < points.count; i++) {
    points.x[i] = 561_000 + i / 100 + random.uniform();
    points.y[i] = 5_932_000 + 10 * random.uniform();
    points.z[i] = 3 + random.uniform();
    points.returnNumber[i] = 1;
    points.returnCount[i] = 1;
    points.gpsTime[i] = 400_000_000 + i / 1000;
    points.pointSourceId[i] = 1;
  }
  change(points);
  return points;
}

function compress(points: SceneColumns, format = 6, more: object = {}): { bytes: Uint8Array; chunks: ChunkPlace[] } {
  const las = writeLas({
    version: [1, 4],
    format,
    scale: [0.001, 0.001, 0.001],
    offset: [561_000, 5_932_000, 0],
    crs: { as: 'wkt', horizontal: UTM32, vertical: DVR90 },
    unsound: true,
    ...more,
    points,
  });
  return encodeLazWithChunks(las, { chunkSize: CHUNK });
}

/** The sentence of the fault with which reading ends, or null. */
async function read(bytes: Uint8Array, columns = ALL_COLUMNS): Promise<string | null> {
  const cloud = await openCloud(new MemorySource(bytes, 'tile.laz'));
  try {
    for (const span of await cloud.spans(1e9)) await cloud.decode(span, new Set(columns), () => {});
    return null;
  } catch (error) {
    if (!(error instanceof Fault)) throw error;
    expect(error.facts.code).toBe('laz-chunk-damaged');
    expect(error.facts.rule).toBe('laz-chunk');
    return error.facts.what;
  }
}

/** Bit positions in the first point of formats 6 and above (LAS 1.4 R16, 2.6): X at byte 0, returns at 14, GPS time at 22. */
function turn(bytes: Uint8Array, chunk: ChunkPlace, byte: number, bit: number): Uint8Array {
  const turned = bytes.slice();
  turned[chunk.begin + byte] ^= 1 << bit;
  return turned;
}

describe('damage in the first point of a chunk', () => {
  const { bytes, chunks } = compress(walk());

  test('sound: nobody is accused', async () => expect(await read(bytes)).toBeNull());

  test('place: a chunk far outside the header box, told with its points and bytes', async () => {
    for (const axis of [0, 1, 2]) {
      const what = await read(turn(bytes, chunks[3], 4 * axis + 3, 5));
      expect(what).toMatch(/far outside the extent .*points 1,801 to 2,400, bytes [\d,]+ to [\d,]+/);
    }
  });

  test('place: also when coordinates are all that is read', async () => {
    expect(await read(turn(bytes, chunks[3], 3, 4), ['xyz'])).toMatch(/far outside/);
  });

  test('time: the sign, and a power of two that makes it nearly zero', async () => {
    expect(await read(turn(bytes, chunks[2], 29, 7))).toMatch(/GPS times/);
    expect(await read(turn(bytes, chunks[2], 29, 6))).toMatch(/GPS times/);
  });

  test('time: a chunk that alone breaks the order of all others', async () => {
    // Bit 43 of a double of 4e8 (52 bits, 2^28 to 2^29): 2^28 / 2^9 s, some six days.
    expect(await read(turn(bytes, chunks[4], 22 + 5, 3))).toMatch(/do not fit between/);
  });

  test('returns: number zero from the first point on', async () => {
    expect(await read(turn(bytes, chunks[1], 14, 0))).toMatch(/impossible return number/);
  });
});

describe('odd files that are not damaged', () => {
  test('a header box in another place accuses nobody: it is the header that is wrong', async () => {
    const lies = { headerOverrides: { min: [1, 1, 1], max: [2, 2, 2] } };
    expect(await read(compress(walk(), 6, lies).bytes)).toBeNull();
    const zero = { headerOverrides: { min: [0, 0, 0], max: [0, 0, 0] } };
    expect(await read(compress(walk(), 6, zero).bytes)).toBeNull();
    const none = { headerOverrides: { min: [Number.NaN, 0, 0], max: [Number.NaN, 0, 0] } };
    expect(await read(compress(walk(), 6, none).bytes)).toBeNull();
  });

  test('single points far away, and a box too small by metres', async () => {
    const stray = walk((p) => {
      p.x[2000] += 185_000;
    });
    expect(await read(compress(stray, 6, { headerOverrides: { max: [561_050, 5_932_010, 4] } }).bytes)).toBeNull();
    const small = { headerOverrides: { min: [561_010, 5_932_002, 3.2], max: [561_030, 5_932_008, 3.8] } };
    expect(await read(compress(walk(), 6, small).bytes)).toBeNull();
  });

  test('seconds of the week said to be standard time, and the other way round', async () => {
    const week = walk((p) => {
      for (let i = 0; i < p.count; i++) p.gpsTime[i] = 1000 + i / 1000;
    });
    expect(await read(compress(week).bytes)).toBeNull();
    expect(await read(compress(walk(), 6, { gpsTime: 'week' }).bytes)).toBeNull();
  });

  test('passes in another order, a pass in the middle, no order at all, no times', async () => {
    const second = Math.floor(CHUNK * 2.5);
    const swapped = walk((p) => {
      for (let i = 0; i < second; i++) p.gpsTime[i] += 9000;
    });
    expect(await read(compress(swapped).bytes)).toBeNull();
    const middle = walk((p) => {
      for (let i = second; i < second + CHUNK; i++) p.gpsTime[i] += 9000;
    });
    expect(await read(compress(middle).bytes)).toBeNull();
    const random = new Random(9);
    const mixed = walk((p) => {
      for (let i = 0; i < p.count; i++) p.gpsTime[i] = 400_000_000 + random.between(0, 5000);
    });
    expect(await read(compress(mixed).bytes)).toBeNull();
    const timeless = walk((p) => {
      p.gpsTime.fill(0);
    });
    expect(await read(compress(timeless).bytes)).toBeNull();
  });

  test('return numbers that are never set, or wrong here and there', async () => {
    const unset = walk((p) => {
      p.returnNumber.fill(0);
      p.returnCount.fill(0);
    });
    expect(await read(compress(unset).bytes)).toBeNull();
    const glitches = walk((p) => {
      for (let i = 0; i < p.count; i += 600) p.returnNumber[i] = 3;
    });
    expect(await read(compress(glitches).bytes)).toBeNull();
  });

  test('a COPC file whose nodes are chunks of all sizes', async () => {
    const las = writeLas({
      version: [1, 4],
      format: 6,
      scale: [0.001, 0.001, 0.001],
      offset: [561_000, 5_932_000, 0],
      crs: { as: 'wkt', horizontal: UTM32, vertical: DVR90 },
      points: walk(),
    });
    expect(await read(encodeCopc(las, { nodePoints: 300 }))).toBeNull();
  });
});

test.each([0, 1, 2, 3, 6, 7, 8])(
  'format %i: of 150 turned bits in chunks nearly all with an effect are seen',
  async (format) => {
    const { bytes, chunks } = compress(walk(), format);
    const random = new Random(format + 1);
    const sound = await digest(bytes);
    let seen = 0;
    let missed = 0;
    for (let k = 0; k < 150; k++) {
      const { begin, end } = chunks[random.below(chunks.length)];
      const turned = bytes.slice();
      turned[begin + random.below(end - begin)] ^= 1 << random.below(8);
      const result = await digest(turned);
      if (result === null) seen++;
      else if (result !== sound) missed++;
    }
    // Measured by `npm run bench:damage` with a thousand turned bits: 97.8 to 99.8 % in chunks of 1,000 points.
    expect(seen / (seen + missed)).toBeGreaterThan(0.95);
  },
);

/** A sum over all columns, or null for a fault. */
async function digest(bytes: Uint8Array): Promise<number | null> {
  let sum = 17;
  try {
    const cloud = await openCloud(new MemorySource(bytes, 'tile.laz'));
    for (const span of await cloud.spans(1e9)) {
      await cloud.decode(span, new Set(ALL_COLUMNS), (b) => {
        for (let i = 0; i < b.count; i++) {
          const values = [b.x[i], b.y[i], b.z[i], b.intensity[i], b.returnNumber[i], b.returnCount[i], b.flags[i]];
          values.push(b.classification[i], b.scanAngle[i], b.userData[i], b.pointSourceId[i], b.gpsTime[i] * 1000);
          values.push(b.red[i], b.green[i], b.blue[i], b.nir[i], b.scannerChannel[i]);
          for (const value of values) sum = (Math.imul(sum, 31) + Math.round(value % 1e9)) | 0;
        }
      });
    }
    return sum;
  } catch (error) {
    if (!(error instanceof Fault)) throw error;
    return null;
  }
}
