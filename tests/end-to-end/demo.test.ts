import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { reportJson } from '../../src/report/json.js';
import type { Report, RequirementResult } from '../../src/report/model.js';
import { checkDelivery } from '../../src/run/check-delivery.js';
import { type DemoDelivery, writeDemoDelivery, writeSoundDelivery } from '../../src/simulate/demo/demo-delivery.js';

/** What is planted is the outside truth of these tests: the scene is analytic, its faults have exact sizes. */
let folder = '';
let demo: DemoDelivery;
let report: Report;

function requirement(check: string): RequirementResult {
  return report.requirements.find((r) => r.check === check)!;
}

async function assayDemo(
  more: { workers?: number; spanPoints?: number; tiles?: readonly string[] } = {},
): Promise<Report> {
  const { tiles: some, ...options } = more;
  return checkDelivery({ ...filesOf(demo), delivery: some ?? [demo.tiles], workers: 1, ...options });
}

function filesOf({ spec, points, zones, tiles, trajectory, route }: DemoDelivery) {
  return { delivery: [tiles], spec, points, zones, trajectory: [trajectory!], route, sections: 10 };
}

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'cloudassay-demo-'));
  demo = writeDemoDelivery(folder);
  report = await assayDemo();
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('the demo delivery', () => {
  it('is rejected, with every point read', () => {
    expect(report.verdict).toBe('rejected');
    expect(report.delivery.points).toBe(demo.planted.points);
    expect(report.delivery.unreadable).toBe(0);
    expect(report.passes.map((p) => p.points)).toEqual(demo.planted.passes.map((p) => p.points));
    expect(new Set(report.files.map((f) => f.packing))).toEqual(new Set(['LAS', 'LAZ']));
  });

  it('gives back the planted shift of a pass within 1 mm on every axis', () => {
    const pair = report.passPairs.find((p) => p.a === 'source 1' && p.b === 'source 2')!;
    const planted = demo.planted.faults.passShift!;
    for (let axis = 0; axis < 3; axis++) expect(Math.abs(pair.shift[axis]! - planted[axis])).toBeLessThan(0.001);
    expect(pair.observable).toEqual([true, true, true]);
    expect(Math.abs(pair.meanDz! - demo.planted.passTwoDz)).toBeLessThan(0.001);
    expect(requirement('pass-agreement').verdict).toBe('fail');
  });

  it('finds no shift between the passes that have none', () => {
    const pair = report.passPairs.find((p) => p.a === 'source 1' && p.b === 'source 3')!;
    for (const v of pair.shift) expect(Math.abs(v!)).toBeLessThan(0.001);
  });

  it('gives back the planted vertical bias within 1 mm', () => {
    expect(Math.abs(requirement('vertical-accuracy').measured.mean! - demo.planted.meanDz)).toBeLessThan(0.001);
    // Pass by pass: the bias alone in passes 1 and 3, with the shift of the pass on top in pass 2.
    const used = report.surveyPoints.filter((p) => p.role === 'check' && p.status === 'used');
    const meanOf = (pass: string) => {
      const dz = used.flatMap((p) => p.perPass.filter((q) => q.pass === pass && q.dz !== null).map((q) => q.dz!));
      expect(dz.length).toBeGreaterThan(25);
      return dz.reduce((sum, v) => sum + v, 0) / dz.length;
    };
    expect(Math.abs(meanOf('source 1') - demo.planted.faults.verticalBias!)).toBeLessThan(0.001);
    expect(Math.abs(meanOf('source 3') - demo.planted.faults.verticalBias!)).toBeLessThan(0.001);
    expect(Math.abs(meanOf('source 2') - demo.planted.faults.verticalBias! - demo.planted.passTwoDz)).toBeLessThan(
      0.001,
    );
  });

  it('names the blunder, and lists control points without judging them', () => {
    const blunders = report.surveyPoints.filter((p) => p.status === 'blunder');
    expect(blunders.map((p) => p.id)).toEqual([demo.planted.blunderId]);
    expect(report.surveyPoints.filter((p) => p.role === 'control')).toHaveLength(demo.planted.controlPoints.length);
    expect(requirement('vertical-accuracy').measured.n).toBe(demo.planted.checkPoints.length);
  });

  it('measures the planted hole to within one ring of cells', () => {
    const [x0, y0, x1, y1] = demo.planted.faults.void!;
    const cell = 0.5;
    const found = requirement('voids').measured.largestArea!;
    expect(found).toBeGreaterThanOrEqual((x1 - x0 - 2 * cell) * (y1 - y0 - 2 * cell));
    expect(found).toBeLessThanOrEqual((x1 - x0 + 2 * cell) * (y1 - y0 + 2 * cell));
    const [place] = requirement('voids').locations;
    expect(Math.hypot(place.x - (x0 + x1) / 2, place.y - (y0 + y1) / 2)).toBeLessThan(cell);
  });

  it('measures density within 1 %: share, number of cells and the thinned tile', () => {
    const density = requirement('density');
    const truth = demo.planted.density;
    expect(density.measured.cells).toBe(truth.cells);
    expect(density.measured.share).toBeCloseTo(truth.share, 12);
    expect(Math.abs(density.measured.mean! / truth.mean - 1)).toBeLessThan(0.01);
    expect(Math.abs(density.locations[0].value! / demo.planted.faults.thinnedTo! - 1)).toBeLessThan(0.01);
    expect(density.locations[0].file).toBe(demo.planted.thinnedTile);
  });

  it('names the tile with the wrong header and the tile with the foreign coordinate system', () => {
    expect(requirement('header-agreement').locations.map((l) => l.file)).toEqual([demo.planted.headerTile]);
    expect(requirement('header-agreement').measured.mismatches).toBe(1);
    expect(requirement('crs').locations.map((l) => l.file)).toEqual([demo.planted.foreignTile]);
  });

  it('finds the planted outage to the row, and that the drive has no closing alignment', () => {
    const outage = requirement('outages');
    expect(outage.measured.outages).toBe(1);
    expect(Math.abs(outage.measured.farthest! - demo.planted.faults.outageMetres!)).toBeLessThan(1.001);
    // 30 m at 10 m/s, in rows ten times a second.
    expect(Math.abs(outage.measured.longest! - 3)).toBeLessThanOrEqual(0.1 + 1e-6);
    // The third pass is right in the outage: nothing is said against it.
    expect(outage.causes).toEqual([]);
    const alignment = requirement('alignment');
    expect(alignment.verdict).toBe('fail');
    expect(alignment.locations[0].note).toMatch(/^end of the drive/);
    expect(requirement('trajectory-quality').verdict).toBe('pass');
    expect(requirement('route-coverage').verdict).toBe('pass');
  });

  it('gives the void its station and offset along the route', () => {
    const [x0, y0, x1, y1] = demo.planted.faults.void!;
    const [place] = requirement('voids').locations;
    // The route runs through the middle of the street at 4 degrees from 25 m before it, where the station is 3200 m.
    const [du, dv] = [(x0 + x1) / 2 - demo.planted.street.origin[0], (y0 + y1) / 2 - demo.planted.street.origin[1]];
    const turn = (4 * Math.PI) / 180;
    const station = 3225 + du * Math.cos(turn) + dv * Math.sin(turn);
    expect(Math.abs(place.station! - station)).toBeLessThan(0.5);
    expect(Math.abs(place.offset! - (du * Math.sin(turn) - dv * Math.cos(turn)))).toBeLessThan(0.5);
  });

  it('is a report by the published schema', () => {
    const schema = JSON.parse(readFileSync(join(import.meta.dirname, '../../specs/report.schema.json'), 'utf8'));
    const validate = new Ajv2020({ strict: false }).compile(schema);
    validate(JSON.parse(reportJson(report)));
    expect(validate.errors).toBeNull();
  });
});

describe('the same bytes in, the same report out', () => {
  it.each([[2], [5]])('with %i workers', async (workers) => {
    expect(reportJson(await assayDemo({ workers, spanPoints: 20_000 }))).toBe(reportJson(report));
  });

  it('for any size of span and any order of files', async () => {
    const names = demo.files.map((file) => file.path);
    const shuffled = [names[3], names[0], names[4], names[2], names[1]];
    const inOrder = reportJson(await assayDemo({ tiles: names }));
    expect(reportJson(await assayDemo({ spanPoints: 7_001, tiles: shuffled }))).toBe(inOrder);
    // Naming the folder instead of its files changes the command that is repeated, and nothing else.
    const { command } = report.tool;
    expect(JSON.parse(inOrder)).toEqual({
      ...JSON.parse(reportJson(report)),
      tool: { ...report.tool, command: expect.not.stringMatching(command) },
    });
  });
});

describe('the same road without a fault', () => {
  it('is accepted', async () => {
    const sound = mkdtempSync(join(tmpdir(), 'cloudassay-sound-'));
    try {
      const clean = await checkDelivery({ ...filesOf(writeSoundDelivery(sound)), workers: 2 });
      expect(
        clean.requirements.map((r) => [r.id, r.verdict, r.summary]).filter(([, verdict]) => verdict !== 'pass'),
      ).toEqual([]);
      expect(clean.verdict).toBe('accepted');
    } finally {
      rmSync(sound, { recursive: true, force: true });
    }
  });
});
