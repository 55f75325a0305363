import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openCloud } from '../../src/cloud/open.js';
import { sampleSpans } from '../../src/engine/sampling.js';
import { reportJson } from '../../src/report/json.js';
import { checkDelivery } from '../../src/run/check-delivery.js';
import { type DemoDelivery, writeSoundDelivery } from '../../src/simulate/demo/demo-delivery.js';

let folder = '';
let sound: DemoDelivery;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'cloudassay-sample-'));
  sound = writeSoundDelivery(folder, { drive: false });
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('a quick look at a share of the points', () => {
  it('never accepts, says what it is, and shows figures', async () => {
    const { tiles, spec, points, zones } = sound;
    const report = await checkDelivery({ delivery: [tiles], spec, points, zones, workers: 1, sample: 0.5 });
    expect(report.verdict).toBe('undetermined');
    expect(report.findings.map((f) => f.code)).toContain('quick-look');
    expect(report.tool.command).toContain('--sample 0.5');
    for (const requirement of report.requirements) {
      // Headers are read whole, sample or not.
      if (requirement.check === 'crs' || requirement.check === 'las-structure') continue;
      expect(requirement.verdict).toBe('undetermined');
      expect(requirement.summary).toContain('not a test');
    }
    expect(report.delivery.points).toBeLessThan(sound.planted.points);
    // What was read, not what was asked: chunks are taken whole, and at least one of each file.
    const share = Math.round((1000 * report.delivery.points) / sound.planted.points) / 10;
    expect(report.findings.find((f) => f.code === 'quick-look')!.text).toContain(`Only ${share} % of the points`);
    const header = report.requirements.find(({ check }) => check === 'header-agreement')!;
    expect(header.summary).toMatch(/only all points together can show this\.$/);
    expect(header.locations).toEqual([]);
    const again = await checkDelivery({ delivery: [tiles], spec, points, zones, workers: 2, sample: 0.5 });
    expect(reportJson(again)).toBe(reportJson(report));
  });

  it('takes the upper levels of COPC and every n-th chunk of LAZ', async () => {
    const copc = await openCloud('test-clouds/formats/copc/v14-pf07.copc.laz');
    const laz = await openCloud('test-clouds/formats/laz/v14-pf07.laz');
    try {
      const upper = (await sampleSpans(copc, 1e6, 0.1)).spans.flatMap((span) => span.pieces);
      expect(new Set(upper.map((piece) => piece.level))).toEqual(new Set([0]));
      // Five chunks of at most 1,000 points: one of each two, the fifth only where it is drawn.
      const chunks = (await laz.spans(1e6)).flatMap((span) => span.pieces);
      expect(chunks.length).toBe(5);
      const taken = (await sampleSpans(laz, 1e6, 0.5)).spans.flatMap((span) => span.pieces);
      const drawn = taken.map((piece) => Math.floor(chunks.findIndex((c) => c.begin === piece.begin) / 2));
      expect([2, 3]).toContain(drawn.length);
      expect(drawn).toEqual([0, 1, 2].slice(0, drawn.length));
    } finally {
      await copc.close();
      await laz.close();
    }
  });
});
