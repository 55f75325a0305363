import { describe, expect, it } from 'vitest';
import { oppositeDrives } from '../../../src/checks/advice/opposite-drives.js';
import type { DrivenPair } from '../../../src/checks/advice/rule.js';
import { pairFacts, passFacts } from './facts.js';

const told = (value: number) => ({ value, std: 0.0005 });

function driven(direction: 'same' | 'opposite', more: Partial<DrivenPair> = {}): DrivenPair {
  return { direction, along: told(0), left: told(0), tilt: { value: 0, std: 0.00001 }, halfWidth: 5, ...more };
}

/** Two drives forth (1, 3) and two back (2, 4): four opposite pairs, two of the same direction. */
function fourDrives(opposite: Partial<DrivenPair>, same: Partial<DrivenPair> = {}) {
  const pair = (a: string, b: string, d: DrivenPair) => pairFacts(a, b, { failing: true, driven: d });
  return passFacts([
    pair('1', '2', driven('opposite', opposite)),
    pair('1', '3', driven('same', same)),
    pair('1', '4', driven('opposite', opposite)),
    pair('2', '3', driven('opposite', opposite)),
    pair('2', '4', driven('same', same)),
    pair('3', '4', driven('opposite', opposite)),
  ]);
}

describe('opposite-drives', () => {
  it('tells an offset to the left: half of the difference, the other way', () => {
    // The scanner sits 10 mm too far left: seen from the first drive, the second lies 20 mm to its right.
    const advice = oppositeDrives.advise(fourDrives({ left: told(-0.02) }))!;
    expect(advice.figures.left.value).toBeCloseTo(0.01, 12);
    expect(advice.text).toContain('lie up to 20.0 mm apart, mirrored: +10.0 mm to the left of each drive in 4 pairs');
    expect(advice.text).toContain('2 pairs of drives the same way do not show it');
    expect(advice.text).toContain('roll angle and the sideways offset');
    expect(advice.text).not.toContain('pitch');
  });

  it('tells an offset along the drive, and names the clock too', () => {
    const advice = oppositeDrives.advise(fourDrives({ along: told(0.03) }))!;
    expect(advice.figures.along.value).toBeCloseTo(-0.015, 12);
    expect(advice.text).toContain('time between scanner and positioning system');
  });

  it('tells a roll by heights that tilt across the road', () => {
    const advice = oppositeDrives.advise(fourDrives({ tilt: { value: -0.004, std: 0.0001 } }))!;
    // atan(0.002) = 0.1146 degrees; 5 m x 0.004 = 20 mm
    expect(advice.text).toContain('a roll of 0.1146 degrees, left side up');
    expect(advice.figures.roll.value).toBeCloseTo(0.11459, 4);
  });

  it('is quiet where drives the same way show it too', () => {
    expect(oppositeDrives.advise(fourDrives({ left: told(-0.02) }, { left: told(-0.015) }))).toBeNull();
  });

  it('is quiet where opposite pairs do not show the same', () => {
    const facts = fourDrives({ left: told(-0.02) });
    const pairs = facts.pairs.map((p, i) => (i === 2 ? { ...p, driven: driven('opposite', { left: told(0.02) }) } : p));
    expect(oppositeDrives.advise({ ...facts, pairs })).toBeNull();
  });

  it('is quiet where the passes differ in height by as much: no mounting does that', () => {
    const facts = fourDrives({ left: told(-0.02) });
    const pairs = facts.pairs.map((p) => (p.driven?.direction === 'opposite' ? { ...p, meanDz: -0.02 } : p));
    expect(oppositeDrives.advise({ ...facts, pairs })).toBeNull();
  });

  it('is quiet below half of the limit, within three standard deviations, without directions, and for heads', () => {
    expect(oppositeDrives.advise(fourDrives({ left: told(0.007) }))).toBeNull();
    expect(oppositeDrives.advise(fourDrives({ left: { value: 0.02, std: 0.02 } }))).toBeNull();
    expect(oppositeDrives.advise(passFacts([pairFacts('1', '2', { failing: true })]))).toBeNull();
    const facts = fourDrives({ left: told(0.02) });
    expect(oppositeDrives.advise({ ...facts, pairs: facts.pairs.map((p) => ({ ...p, heads: true })) })).toBeNull();
  });

  it('says so where a shift of one pass would look the same', () => {
    const facts = fourDrives({ left: told(-0.02) });
    const three = { ...facts, pairs: facts.pairs.filter((p) => p.a !== '4' && p.b !== '4') };
    expect(oppositeDrives.advise(three)!.text).toContain('Only 2 was driven the other way');
    const two = { ...facts, pairs: facts.pairs.slice(0, 1) };
    expect(oppositeDrives.advise(two)!.text).toContain('a shift of one pass may look the same');
  });
});
