import { describe, expect, it } from 'vitest';
import { assayFiles, lasOf, soundStreet, zonesOf } from '../check-files.js';

// Areas of rectangles are their own reference. What counts is that a zone drawn in kilometres costs neither memory nor the run.

const WITHOUT_CELLS = ['header-agreement', 'duplicates'];

describe('a zone far larger than the delivery', () => {
  const tile = lasOf(soundStreet());
  const requirements = [
    { check: 'coverage', minShare: 0.5, zone: 'city' },
    { check: 'density', min: 1, zone: 'city' },
    { check: 'voids', maxArea: 1, zone: 'city' },
    { check: 'point-distribution', spacing: 0.25, zone: 'city' },
    { check: 'tiling', size: 1, zone: 'city' },
    { check: 'duplicates', zone: 'city' },
    { check: 'header-agreement' },
  ];
  const around = (reach: number) => [561_000 - reach, 5_932_000 - reach, 561_000 + reach, 5_932_000 + reach] as const;

  it.each([
    ['of 40 km by 40 km', zonesOf(['city', ...around(20_000)])],
    ['that covers the globe', zonesOf(['city', ...around(50_000_000)])],
    ['of two patches on both sides of the world', zonesOf(['city', ...around(1000)], ['city', 0, 9e7, 10, 9e7 + 10])],
  ])('%s leaves its requirements undetermined, with the reason, and the others judged', async (_, zones) => {
    const before = process.memoryUsage().rss;
    const report = await assayFiles({ 'a.las': tile }, requirements, { zones });
    for (const { check, verdict, summary } of report.requirements) {
      if (WITHOUT_CELLS.includes(check)) expect([check, verdict]).toEqual([check, 'pass']);
      else {
        expect([check, verdict]).toEqual([check, 'undetermined']);
        expect(summary).toMatch(/zone city: the zone is too large to be judged in cells of [\d.]+ m .*larger cells/);
      }
    }
    expect(process.memoryUsage().rss - before).toBeLessThan(600e6);
  });

  it('of 2 km by 2 km is judged: 4,000,000 cells of 1 m, nearly all bare', async () => {
    const [coverage] = (
      await assayFiles({ 'a.las': tile }, requirements.slice(0, 1), { zones: zonesOf(['city', ...around(1000)]) })
    ).requirements;
    expect(coverage.measured.cells).toBe(4_000_000);
    expect(coverage.verdict).toBe('fail');
  });
});
