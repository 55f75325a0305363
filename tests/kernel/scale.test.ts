import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { allocate } from '../../src/kernel/loops.js';
import { orBytes, toWorld, widen } from '../../src/kernel/scale.js';

// The reference is the definition: round((raw * scale + offset) * unit) in plain JavaScript (LAS 1.4 R16, 2.4: real =
// raw * scale + offset), halves up as Math.round has it.

const RAW = fc.oneof(
  fc.integer({ min: -0x80000000, max: 0x7fffffff }),
  fc.integer({ min: -20, max: 20 }),
  fc.constantFrom(-0x80000000, 0x7fffffff, 0),
);
const HOW = fc.record({
  scale: fc.constantFrom(0.001, 0.0001, 0.01, 0.00025, 0.5, 1e-7, 0.0003048, -0.001),
  offset: fc.constantFrom(0, 561_000, 5_932_000.5, -12.000_05, 0.000_049_999, -0.5),
  unit: fc.constantFrom(10_000, 3048, (10_000 * 1200) / 3937),
});
const resident = allocate(Float64Array, 6000).view;
const residentRaw = allocate(Int32Array, 6000).view;

describe('world coordinates', () => {
  it.each(['plain', 'resident'] as const)('are those of the definition, in %s columns of any length', (where) => {
    fc.assert(
      fc.property(fc.array(RAW, { minLength: 1, maxLength: 70 }), HOW, fc.nat(4100), (raw, how, copies) => {
        // Mostly a few points, sometimes more than a strip of them.
        const values = copies > 4000 ? Array.from({ length: copies }, (_, i) => raw[i % raw.length]) : raw;
        const column = where === 'plain' ? Int32Array.from(values) : residentRaw;
        if (where === 'resident') column.set(values);
        const out = where === 'plain' ? new Float64Array(values.length) : resident;
        const [low, high] = toWorld(column, values.length, how, out);
        const { scale, offset, unit } = how;
        const step = Math.round(scale * unit);
        const start = Math.round(offset * unit);
        const whole = step > 0 && Math.abs(scale * unit - step) < 1e-9 && Math.abs(offset * unit - start) < 1e-4;
        const expected = values.map((r) => (whole ? r * step + start : Math.round((r * scale + offset) * unit)));
        for (let i = 0; i < values.length; i++) {
          if (out[i] !== expected[i]) throw new Error(`point ${i}: ${values[i]} gave ${out[i]}, not ${expected[i]}`);
        }
        expect([low, high]).toEqual([Math.min(...expected), Math.max(...expected)]);
      }),
      { seed: 31, numRuns: 300 },
    );
  });

  it('of no point have an empty extent', () => {
    const how = { scale: 0.001, offset: 0, unit: 10_000 };
    expect(toWorld(new Int32Array(0), 0, how, new Float64Array(0))).toEqual([Infinity, -Infinity]);
  });
});

describe('keys of passes', () => {
  it('are widened as they are, and told to be the same only when all are', () => {
    const some = fc.array(fc.nat(65_535), { minLength: 1, maxLength: 40 });
    fc.assert(
      fc.property(some, fc.nat(5000), fc.boolean(), (keys, count, same) => {
        const column = Uint16Array.from({ length: count + 1 }, (_, i) => (same ? keys[0] : keys[i % keys.length]));
        const out = new Int32Array(column.length);
        expect(widen(column, column.length, out)).toBe(new Set(column).size === 1);
        expect(out).toEqual(Int32Array.from(column));
      }),
      { seed: 32, numRuns: 200 },
    );
  });

  it('one that differs is seen wherever it stands', () => {
    for (const at of [0, 1, 7, 8, 2047, 2048, 4095, 4999]) {
      const column = new Uint16Array(5000).fill(7);
      column[at] = 8;
      expect(widen(column, 5000, new Int32Array(5000))).toBe(false);
    }
  });
});

it('bits that any byte has are those of all bytes or-ed', () => {
  fc.assert(
    fc.property(fc.uint8Array({ maxLength: 5000, size: 'max' }), (bytes) => {
      expect(orBytes(bytes, bytes.length)).toBe(bytes.reduce((all, one) => all | one, 0));
    }),
    { seed: 33, numRuns: 200 },
  );
});
