import { describe, expect, it } from 'vitest';
import { driveSections, sectionLabel } from '../../src/delivery/drive-sections.js';
import { labelForPass, passRuleWords, refusePassesWithoutTrajectory } from '../../src/delivery/passes.js';
import type { Trajectory } from '../../src/delivery/trajectory.js';
import { driveStreet, type VehicleDriveOptions } from '../../src/simulate/drive/drive-street.js';
import { createStreet } from '../../src/simulate/scene/street.js';
import { simulatedTrajectory } from '../simulated-trajectory.js';

const street = createStreet({ origin: [0, 0], headingDegrees: 30 });
const there = { lane: -2, direction: 1 } as const;
const back = { lane: 2, direction: -1 } as const;
const drives = (...options: Partial<VehicleDriveOptions>[]) =>
  options.map((one) => driveStreet({ street, from: 0, to: 200, legs: [there], ...one }));
const sectionsOf = (all: ReturnType<typeof drives>, rate = 20) => driveSections(simulatedTrajectory(all, { rate }));

/** A drive along places one second apart, metres: the shapes of roads, computed by hand. */
function along(places: readonly (readonly [number, number])[]): Trajectory {
  const [drive] = simulatedTrajectory(drives({}), { rate: 1 }).drives;
  return {
    drives: [
      {
        ...drive,
        epochs: places.length,
        time: Float64Array.from(places, (_, k) => k),
        x: Float64Array.from(places, ([x]) => x),
        y: Float64Array.from(places, ([, y]) => y),
      },
    ],
    notes: [],
  };
}
const arc = (radius: number, degrees: number) =>
  Array.from({ length: Math.round((radius * degrees * Math.PI) / 180 / 3) + 1 }, (_, k) => {
    const angle = (k * 3) / radius;
    return [radius * Math.sin(angle), radius * (1 - Math.cos(angle))] as const;
  });

// The times at which the simulated vehicle turns are exact; directions are those of the street, heading 30 degrees from east.
describe('sections of a drive', () => {
  it.each([1, 50])('begin at turnarounds, for rows at %i Hz', (rate) => {
    const all = drives({ legs: [there, back, there] });
    const { sections } = sectionsOf(all, rate);
    expect(sections.map(({ section }) => section)).toEqual([1, 2, 3]);
    const [{ times, stamp }] = all;
    for (const k of [0, 1]) {
      expect(sections[k].to).toBe(sections[k + 1].from);
      expect(sections[k].to).toBeGreaterThan(stamp(times.legs[k].to));
      expect(sections[k].to).toBeLessThan(stamp(times.legs[k + 1].from));
    }
    // Grid north is 0: the street goes towards 60 degrees, and back towards 240.
    expect(sections[0].direction!).toBeGreaterThan(50);
    expect(sections[0].direction!).toBeLessThan(70);
    expect(sections[1].direction!).toBeGreaterThan(230);
    expect(sections[1].direction!).toBeLessThan(250);
  });

  it('are not cut by stops, nor by full circles for the alignment', () => {
    const stops = [60, 150].map((at) => ({ at, seconds: 90 }));
    expect(sectionsOf(drives({ legs: [{ ...there, stops }] })).sections).toHaveLength(1);
  });

  it('are not cut by a street corner or a wide bend, and are by a turn at a roundabout or reversing', () => {
    const straight = Array.from({ length: 30 }, (_, k) => [-90 + 3 * k, 0] as const);
    const count = (places: readonly (readonly [number, number])[]) => driveSections(along(places)).sections.length;
    const onwards = (places: readonly (readonly [number, number])[]) => {
      const [[ax, ay], [bx, by]] = [places[places.length - 2], places[places.length - 1]];
      const [dx, dy] = [bx - ax, by - ay];
      return [...places, ...Array.from({ length: 30 }, (_, k) => [bx + dx * (k + 1), by + dy * (k + 1)] as const)];
    };
    expect(count(onwards([...straight, ...arc(8, 90)]))).toBe(1);
    expect(count(onwards([...straight, ...arc(60, 180)]))).toBe(1);
    expect(count(onwards([...straight, ...arc(15, 180)]))).toBe(2);
    expect(count([...straight, ...[...straight].reverse()])).toBe(2);
    expect(count(straight)).toBe(1);
    expect(
      count([
        [0, 0],
        [0, 0],
      ]),
    ).toBe(1);
  });

  it('hold from their begin to their end, and nothing holds between drives or where two drives overlap', () => {
    const all = drives({ legs: [there, back] }, { startTime: 420_000_000 });
    const { starts, values, sections } = sectionsOf(all);
    expect(sections.map(({ drive, section }) => [drive, section])).toEqual([
      [1, 1],
      [1, 2],
      [2, 1],
    ]);
    expect([...values]).toEqual([0, 1, 2, 0, 3, 0]);
    expect(starts[0]).toBe(Number.NEGATIVE_INFINITY);
    expect([...starts].slice(1)).toEqual([...starts].slice(1).sort((a, b) => a - b));
    const twice = sectionsOf(drives({}, { startTime: drives({})[0].stamp(20) }));
    expect([...twice.values]).toEqual([0, 1, 0, 2, 0]);
  });

  it('go on where a drive was cut at the end of a week', () => {
    const { drives: parts } = simulatedTrajectory(drives({ legs: [there, back] }, { startTime: 420_000_000 }), {
      rate: 5,
    });
    const weekly = { drives: [parts[0], { ...parts[1], continues: parts[0].name }], notes: [] };
    expect(driveSections(weekly).sections.map(({ drive, section }) => [drive, section])).toEqual([
      [1, 1],
      [1, 2],
      [1, 3],
    ]);
  });

  it('name passes, alone and with scanner channels', () => {
    const sections = sectionsOf(drives({ legs: [there, back] }));
    expect(sectionLabel(sections, 0)).toBe('outside the drives');
    expect(sectionLabel(sections, 2)).toMatch(/^drive 1, section 2, towards 2[34]\d°$/);
    const rule = { by: ['trajectory', 'scanner-channel'] as const, sections };
    expect(labelForPass(rule, 2 * 4 + 1, [])).toMatch(/^drive 1, section 2, towards 2[34]\d°, channel 1$/);
    expect(passRuleWords(rule)).toBe('trajectory and scanner-channel');
  });

  it('are refused in a sentence where there is no trajectory', () => {
    const rule = { by: ['trajectory'] as const };
    expect(() => refusePassesWithoutTrajectory(rule, null)).toThrow(/no trajectory is given/);
    expect(() =>
      refusePassesWithoutTrajectory(rule, { drives: [], notes: [], problem: 'its times do not fit' }),
    ).toThrow(/its times do not fit/);
    expect(() => refusePassesWithoutTrajectory({ by: ['file'] }, null)).not.toThrow();
  });
});
