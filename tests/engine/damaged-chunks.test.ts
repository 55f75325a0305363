import { existsSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { reportJson } from '../../src/report/json.js';
import type { Report } from '../../src/report/model.js';
import { testFormatRules } from '../../src/run/format-rules.js';
import { type ChunkPlace, encodeLazWithChunks } from '../../src/simulate/encoder/laz-encoder.js';
import type { SceneColumns } from '../../src/simulate/writer/point-columns.js';
import { assayFiles, lasOf, soundStreet } from '../checks/check-files.js';

/*
 * What the figures must be is told by a file that was written without the points of the damaged chunk in the first place: no
 * guard and no damage has a part in it.
 */

const CHUNK = 1000;
/** Z of the first point at byte 8 of a record (LAS 1.4 R16, table 13): bit 29 at 1 mm is 537 km. */
const RAISED = { byte: 11, bit: 5 };

/** Behind the first point (30 bytes), the number of points and nine sizes (4 bytes each) the layer of x and y begins. */
const IN_XY = 30 + 4 + 9 * 4 + 100;

const requirements = [
  { check: 'density', min: 1, share: 0.01 },
  { check: 'voids', maxArea: 1e6 },
  { check: 'duplicates', sample: 1000 },
  { check: 'pass-agreement', maxRmsDz: 0.5, minCells: 1 },
  { check: 'surface-precision', maxRms: 0.5, minCells: 1 },
  { check: 'surface-precision', maxRms: 0.5, minCells: 1, method: 'cells' },
  { check: 'classification', maxHighGround: 0.9 },
  { check: 'header-agreement' },
];

/** The street twice as long, in order of time, so that chunks are places. */
function inOrder(): SceneColumns {
  const street = soundStreet({ density: 20 });
  const order = Uint32Array.from({ length: street.count }, (_, i) => i).sort(
    (a, b) => street.gpsTime[a] - street.gpsTime[b],
  );
  return pick(street, [...order]);
}

function pick(points: SceneColumns, order: readonly number[]): SceneColumns {
  const columns = Object.entries(points).map(([name, values]) => {
    if (typeof values === 'number') return [name, order.length];
    const picked = values.slice(0, order.length);
    for (const [at, from] of order.entries()) picked[at] = values[from];
    return [name, picked];
  });
  return Object.fromEntries(columns);
}

let points: SceneColumns;
let chunks: ChunkPlace[];
let sound: Uint8Array;
let folder = '';
beforeAll(() => {
  points = inOrder();
  ({ bytes: sound, chunks } = encodeLazWithChunks(lasOf(points), { chunkSize: CHUNK }));
  folder = mkdtempSync(join(tmpdir(), 'cloudassay-chunks-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

function turned(...places: { chunk: number; byte?: number; bit?: number }[]): Uint8Array {
  const bytes = sound.slice();
  for (const { chunk, byte, bit } of places) {
    const { begin } = chunks[chunk];
    bytes[begin + (byte ?? IN_XY)] ^= 1 << (bit ?? 3);
  }
  return bytes;
}

/** The points of the file but those of some chunks. */
function without(...left: number[]): Uint8Array {
  const order = Array.from({ length: points.count }, (_, i) => i).filter((i) => !left.includes(Math.floor(i / CHUNK)));
  return lasOf(pick(points, order));
}

const KINDS: [string, Uint8Array | null, number[], string][] = [];
beforeAll(() => {
  KINDS.push(
    ['in its coding', turned({ chunk: 3 }), [3], 'coding'],
    ['in its first point', turned({ chunk: 4, ...RAISED }), [4], 'place'],
    ['two of them, in both ways', turned({ chunk: 2 }, { chunk: 7, ...RAISED }), [2, 7], 'coding place'],
    ['all but three', turned(...chunks.map((_, chunk) => ({ chunk })).slice(3)), [...chunks.keys()].slice(3), 'coding'],
  );
});

async function check(bytes: Uint8Array, more: Parameters<typeof assayFiles>[2] = {}): Promise<Report> {
  const report = await assayFiles({ 'tile.laz': bytes }, requirements, more);
  // Names and digests of files in folders that differ from run to run.
  return { ...report, spec: { ...report.spec, file: '' }, tool: { ...report.tool, command: '' } };
}

describe.each([0, 1, 2, 3])('a damaged chunk (kind %i)', (kind) => {
  it('keeps its own points out of every figure, and no others', async () => {
    const [, bytes, left] = KINDS[kind];
    const damaged = await check(bytes!);
    const reference = await check(without(...left));
    expect(damaged.delivery.points).toBe(reference.delivery.points);
    expect(damaged.delivery.extent).toEqual(reference.delivery.extent);
    expect(damaged.passes).toEqual(reference.passes);
    expect(damaged.overview).toEqual(reference.overview);
    for (const [i, { check: name, measured, verdict }] of damaged.requirements.entries()) {
      expect(verdict, name).not.toBe('pass');
      if (name !== 'header-agreement' && name !== 'duplicates')
        expect([name, measured]).toEqual([name, reference.requirements[i].measured]);
    }
    // The draw of a sample is known before the damage is: the count alone can be compared.
    const count = (r: Report) => r.requirements.find((q) => q.check === 'duplicates')!.measured.points;
    expect(count(damaged)).toBe(count(reference));
  });

  it('is named with chunk, points, bytes and guard; the tile is not accepted', async () => {
    const [, bytes, left, guards] = KINDS[kind];
    const report = await check(bytes!);
    expect(report.verdict).not.toBe('accepted');
    const findings = report.findings.filter((f) => f.code === 'chunk-damaged');
    const leftPoints = left.reduce((sum, c) => sum + Math.min(CHUNK, points.count - c * CHUNK), 0);
    expect(findings.slice(0, left.length).map((f) => f.chunk!.number - 1)).toEqual(left.slice(0, findings.length));
    expect(findings[0].chunk).toMatchObject({
      firstPoint: left[0] * CHUNK + 1,
      points: CHUNK,
      firstByte: chunks[left[0]].begin,
      bytes: chunks[left[0]].end - chunks[left[0]].begin,
    });
    expect([...new Set(findings.map((f) => f.chunk!.guard))].sort().join(' ')).toBe(guards);
    expect(findings[0].text).toMatch(
      /^tile\.laz: a compressed chunk is damaged: .*chunk \d+, points [\d,]+ to [\d,]+, bytes .* left out of every figure$/,
    );
    expect(report.files[0].leftOut).toBe(leftPoints);
    expect(report.files[0].points).toBe(report.delivery.points + leftPoints);
    expect(report.files[0].fault).toMatch(/left out of every figure/);
    expect(report.requirements[0].summary).toMatch(/points of tile\.laz in .*damaged chunk/);
  });

  it('gives the same report for any number of workers, any size of spans, and from a cache', async () => {
    const bytes = KINDS[kind][1]!;
    const expected = reportJson(await check(bytes));
    for (const [workers, spanPoints] of [
      [1, CHUNK],
      [1, 5 * CHUNK],
      [3, 3 * CHUNK],
    ]) {
      expect(reportJson(await check(bytes, { workers, spanPoints }))).toBe(expected);
    }
    const cache = join(folder, `cache-${kind}`);
    expect(reportJson(await check(bytes, { cache }))).toBe(expected);
    expect(existsSync(cache) ? readdirSync(cache) : []).toEqual([]);
    expect(reportJson(await check(bytes, { cache }))).toBe(expected);
  });
});

describe('damage in a layer that no other check needs', () => {
  // The sizes of the layers follow the first point and the number of points (LASzip specification, layered chunks).
  const NAMES = ['xy', 'z', 'class', 'flags', 'intensity', 'angle', 'user data', 'source', 'time'];

  it('is found where the structure is judged: one bit in the middle of each layer that is stored', async () => {
    const { begin } = chunks[2];
    const view = new DataView(sound.buffer, sound.byteOffset);
    let at = begin + 30 + 4 + NAMES.length * 4;
    const files: Record<string, Uint8Array> = {};
    for (const [k, name] of NAMES.entries()) {
      const size = view.getUint32(begin + 30 + 4 + 4 * k, true);
      if (size > 0) {
        files[`${name}.laz`] = sound.slice();
        files[`${name}.laz`][at + (size >> 1)] ^= 4;
      }
      at += size;
    }
    expect(Object.keys(files).length).toBeGreaterThan(5);
    const report = await assayFiles(files, [{ check: 'las-structure' }]);
    expect(report.requirements[0].verdict).toBe('fail');
    expect(report.files.filter((f) => f.leftOut === CHUNK).map((f) => f.file)).toEqual(Object.keys(files).sort());
  });
});

describe('damage elsewhere', () => {
  it('does not keep a sound tile out of the cache, nor lets a damaged one in', async () => {
    const cache = join(folder, 'cache-two');
    const files = { 'a.laz': turned({ chunk: 4, ...RAISED }), 'b.laz': sound };
    const first = await assayFiles(files, requirements, { cache });
    expect(readdirSync(cache)).toHaveLength(1);
    const second = await assayFiles(files, requirements, { cache });
    expect(reportJson({ ...second, spec: first.spec })).toBe(reportJson(first));
    expect(second.files.map((f) => f.leftOut ?? 0)).toEqual([CHUNK, 0]);
  });

  it('has no part in telling passes apart by pauses in GPS time', async () => {
    // The GPS time of the first point at byte 22: bit 62 of the double.
    const bytes = turned({ chunk: 5, byte: 29, bit: 6 });
    const passes = { by: 'gps-time-gap', gap: 5 };
    const damaged = await check(bytes, { passes });
    const reference = await check(without(5), { passes });
    expect(damaged.findings.find((f) => f.chunk)?.chunk?.guard).toBe('order');
    expect(damaged.passes).toEqual(reference.passes);
  });

  it('is listed chunk by chunk among the broken rules of the format', async () => {
    const path = join(folder, 'tile.laz');
    writeFileSync(path, turned({ chunk: 2 }, { chunk: 6, ...RAISED }));
    const { findings } = await testFormatRules([path], { wkt: 'las', headerOnly: false, workers: 1 });
    const found = findings.filter((f) => /compressed chunk is damaged/.test(f.text));
    expect(found.map((f) => f.byte)).toEqual([chunks[2].begin, chunks[6].begin]);
  });
});
