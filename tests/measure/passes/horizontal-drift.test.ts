import { describe, expect, it } from 'vitest';
import { passDrift } from '../../../src/checks/pass-drift.js';
import { fact } from '../../../src/measure/fact-types.js';
import { horizontalDriftOfPasses } from '../../../src/measure/passes/horizontal-drift.js';
import { usualDrives } from '../../../src/simulate/scene/drives.js';
import { scanToColumns } from '../../../src/simulate/scene/scanner.js';
import { createStreet } from '../../../src/simulate/scene/street.js';
import { judge } from '../../checks/judge.js';
import { measureFacts } from '../../checks/measured-scene.js';

// The scene is analytic: what was planted is the outside truth. 6 mm noise along the surface normal, 60 m at 5 m/s: 12 s a pass.

const ORIGIN = [561_000, 5_932_000] as const;
const OPTIONS = { bin: 1, minCells: 10 };
const NORTH = ((90 - 23) * Math.PI) / 180;
/** To the left of the road, whose heading is 23 degrees. */
const ACROSS = [-Math.sin(NORTH), Math.cos(NORTH)];

/** Three passes; the second leaves its place across the road, from -40 to 40 mm along its way. */
function measure(drift: number) {
  const street = createStreet({ origin: ORIGIN, headingDegrees: 23 });
  const passes = usualDrives({ passes: 3, density: 150 }).map((drive) => ({ ...drive, speed: 5 }));
  const points = scanToColumns({ street, passes, from: -30, to: 30, noise: 0.006, seed: 5 });
  for (let i = 0; i < points.count; i++) {
    if (points.pointSourceId[i] !== 2) continue;
    const along = (points.x[i] - ORIGIN[0]) * Math.cos(NORTH) + (points.y[i] - ORIGIN[1]) * Math.sin(NORTH);
    const moved = Math.max(-1, Math.min(1, along / 30)) * drift;
    points.x[i] += moved * ACROSS[0];
    points.y[i] += moved * ACROSS[1];
  }
  return measureFacts(
    points,
    {
      compared: fact('pass-pairs', { voxel: 0.5, minPoints: 10, area: null, walls: true }),
      times: fact('pass-times', { cell: 0.5 }),
    },
    { scale: 0.001 },
  );
}

describe('the horizontal offset of passes along GPS time', () => {
  const facts = measure(0.04);

  it('is large at both ends of a pass that drifts, small in its middle, and small for the others', () => {
    const drifts = horizontalDriftOfPasses(facts.compared.pairs, facts.times, OPTIONS);
    expect(drifts.map(({ pass }) => pass)).toEqual([1, 2, 3]);
    const [first, second, third] = drifts.map(({ bins }) => bins);
    expect(second.length).toBeGreaterThan(7);
    const offsetOf = ({ x, y }: { x: number; y: number }) =>
      0.04 * Math.abs(((x - ORIGIN[0]) * Math.cos(NORTH) + (y - ORIGIN[1]) * Math.sin(NORTH)) / 30);
    // What walls show of an offset is never longer than it is. Within the 5 m of a bin the planted drift changes by 40 mm * 5 / 30.
    const change = (0.04 * 5) / 30;
    for (const bin of second) expect(bin.offset - offsetOf(bin)).toBeLessThan(change + 4 * bin.std);
    expect(Math.max(...second.map(({ offset }) => offset))).toBeGreaterThan(0.02);
    for (const bin of [...first, ...third]) expect(bin.offset).toBeLessThan(0.003 + 4 * bin.std);
  });

  it('fails a limit that it exceeds, although no height changes; nothing passes of which a direction is hidden', () => {
    const found = judge(passDrift, { maxOffset: 0.02, maxHorizontalOffset: 0.02, minBins: 4 }, facts);
    expect(found.state).toBe('fail');
    expect(found.summary).toMatch(/source 2: horizontally up to [23]\d\.\d mm from the others/);
    expect(found.measured.horizontal.value).toBeGreaterThan(0.02);
    expect(found.measured.worst.value).toBeLessThan(0.005);
    expect(judge(passDrift, { maxOffset: 0.02, minBins: 4 }, facts).state).toBe('pass');
    const wide = judge(passDrift, { maxHorizontalOffset: 0.06, minBins: 4 }, facts);
    const shown = /both directions shown in (\d+) of (\d+) bins/.exec(wide.summary)!;
    expect(wide.state).toBe(2 * Number(shown[1]) >= Number(shown[2]) ? 'pass' : 'undetermined');
  });
});
