import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  distancesOfStation,
  parseStation,
  type Stationing,
  type StationStyle,
  sectionBorders,
  stationAt,
  stationLabel,
  writtenStation,
} from '../../src/geometry/stationing.js';

const METRIC: StationStyle = { notation: '3+250', metresPerUnit: 1 };
const FEET: StationStyle = { notation: '41+57.95', metresPerUnit: 0.3048 };
const at = (station: number) => ({ whole: null, station });
const equation = (internal: number, back: number, ahead: number, increasing = true) => ({
  internal,
  back,
  ahead,
  increasing,
});

// LandXML 1.2, StaEquation: staInternal is staStart plus the distance, as if no equation applied; staAhead is shown from there on.
describe('an equation forward: start 100, length 200, internal 200 is 300 ahead', () => {
  const line: Stationing = { startStation: 100, length: 200, equations: [equation(200, 200, 300)] };

  it('shows 100, 150, 300, 350, 400', () => {
    expect([0, 50, 100, 150, 200].map((d) => stationAt(line, d))).toEqual([100, 150, 300, 350, 400]);
  });

  it('250 does not exist, 350 is 150 m along, 200 and 300 are the same place', () => {
    expect(distancesOfStation(line, at(250), METRIC)).toEqual([]);
    expect(distancesOfStation(line, at(350), METRIC)).toEqual([150]);
    expect(distancesOfStation(line, at(200), METRIC)).toEqual([100]);
    expect(distancesOfStation(line, at(300), METRIC)).toEqual([100]);
  });
});

describe('an equation back makes stations that occur twice', () => {
  it('internal 200 to 150 ahead: 175 is internal 175 or 225', () => {
    const line: Stationing = { startStation: 100, length: 200, equations: [equation(200, 200, 150)] };
    expect(distancesOfStation(line, at(175), METRIC)).toEqual([75, 125]);
  });

  it('start 0, 1000 to 500: 700 is 700 m or 1200 m along', () => {
    const line: Stationing = { startStation: 0, length: 2000, equations: [equation(1000, 1000, 500)] };
    expect(distancesOfStation(line, at(700), METRIC)).toEqual([700, 1200]);
  });
});

// Published unit test UT_LP_4 of IFC 4.3 (buildingSMART): two railway lines with the real lengths of their kilometres.
describe('kilometres of their real lengths', () => {
  const lineA: Stationing = {
    startStation: 27205.4145419,
    length: 1500,
    equations: [equation(28000.6596581, 28000.6596581, 28000)],
  };
  const lineB: Stationing = {
    startStation: 25980.799746,
    length: 4000,
    equations: [
      equation(26001.800003, 26001.800003, 26000),
      equation(26994.9271955, 26993.1271925, 27000),
      equation(27995.8246254, 28000.8974299, 28000),
      equation(28996.977568, 29001.1529426, 29000),
    ],
  };
  const distance = (line: Stationing, internal: number) => internal - line.startStation;
  const read = (line: Stationing, text: string) => distancesOfStation(line, parseStation(text, METRIC)!, METRIC);

  it('line A: 27+205.4145419 at the begin, 27+1000.6596581 back is 28+0 ahead', () => {
    expect(stationLabel(lineA, 0, METRIC, 7)).toBe('27+205.4145419');
    expect(stationLabel(lineA, distance(lineA, 28000.6), METRIC, 7)).toBe('27+1000.6000000');
    expect(stationLabel(lineA, distance(lineA, 28000.6596581), METRIC, 7)).toBe('28+000.0000000');
    const place = distance(lineA, 28000.6596581);
    expect(read(lineA, '27+1000.6596581')[0]).toBeCloseTo(place, 7);
    expect(read(lineA, '28+0')).toHaveLength(1);
    expect(read(lineA, '28+0')[0]).toBeCloseTo(place, 7);
  });

  it.each([
    [26001.800003, '25+1001.8000030', '26+0'],
    [26994.9271955, '26+993.1271925', '27+0'],
    [27995.8246254, '27+1000.8974299', '28+0'],
    [28996.977568, '28+1001.1529426', '29+0'],
  ])('line B: internal %d is %s back and %s ahead', (internal, back, ahead) => {
    const place = distance(lineB, internal);
    for (const text of [back, ahead]) {
      expect(read(lineB, text), text).toHaveLength(1);
      expect(Math.abs(read(lineB, text)[0] - place)).toBeLessThan(1.5e-7);
    }
    expect(stationLabel(lineB, place, METRIC, 7)).toBe(`${ahead.slice(0, 3)}000.0000000`);
  });

  it('line B: worked values between', () => {
    expect(stationLabel(lineB, 0, METRIC, 7)).toBe('25+980.7997460');
    expect(stationAt(lineB, distance(lineB, 26500))).toBeCloseTo(26498.199997, 7);
    expect(stationLabel(lineB, distance(lineB, 26001), METRIC, 7)).toBe('25+1001.0000000');
    expect(read(lineB, '25+1001')[0]).toBeCloseTo(distance(lineB, 26001), 7);
    expect(read(lineB, '26+1')[0]).toBeCloseTo(distance(lineB, 26002.800003), 7);
    // As one number 26001 occurs twice.
    expect(distancesOfStation(lineB, at(26001), METRIC)).toHaveLength(2);
    expect(read(lineB, '26+995')).toEqual([]);
    expect(read(lineB, '26+1001')).toEqual([]);
    expect(read(lineB, '27+100')[0]).toBeCloseTo(distance(lineB, 27094.9271955), 7);
    expect(27100 - 27094.9271955).toBeCloseTo(5.0728045, 7);
  });
});

describe('decreasing stations', () => {
  const line: Stationing = { startStation: 500, length: 300, equations: [equation(500, 500, 500, false)] };

  it('go down along the line', () => {
    expect([0, 100, 300].map((d) => stationAt(line, d))).toEqual([500, 400, 200]);
    expect(distancesOfStation(line, at(450), METRIC)).toEqual([50]);
    expect(distancesOfStation(line, at(550), METRIC)).toEqual([]);
    expect(sectionBorders(line, METRIC, 100)).toEqual([0, 100, 200, 300]);
  });
});

describe('notations', () => {
  it('write the same place in the three ways (41+57.95 ft is 4157.95 ft: published example of 100 ft stations)', () => {
    expect(writtenStation(3250, METRIC, 0)).toBe('3+250');
    expect(writtenStation(3250, { notation: 'km 3.250', metresPerUnit: 1 }, 0)).toBe('km 3.250');
    expect(writtenStation(4157.95 * 0.3048, FEET, 2)).toBe('41+57.95');
    expect(writtenStation(3999.97, METRIC, 1)).toBe('4+000.0');
    expect(writtenStation(-250, METRIC, 0)).toBe('-0+250');
    expect(writtenStation(-0.01, METRIC, 1)).toBe('0+000.0');
  });

  it('read what they write', () => {
    expect(parseStation('41+57.95', FEET)?.station).toBeCloseTo(4157.95 * 0.3048, 9);
    expect(parseStation('km 3.250', METRIC)).toEqual({ whole: null, station: 3250 });
    expect(parseStation('3+250', METRIC)).toEqual({ whole: 3, station: 3250 });
    expect(parseStation('3+250,5', METRIC)).toEqual({ whole: 3, station: 3250.5 });
    expect(parseStation('-0+250', METRIC)).toEqual({ whole: null, station: -250 });
    expect(parseStation('km 27 + 1000.5 m', METRIC)).toEqual({ whole: 27, station: 28000.5 });
    for (const text of ['', 'B', '3+', '3.5+250', '+', '3+-2', 'km'])
      expect(parseStation(text, METRIC), text).toBeNull();
  });

  it('round trip: every place of a line with equations is found again by its label', () => {
    const arbitrary = fc.record({
      startStation: fc.integer({ min: 0, max: 30_000 }),
      jumps: fc.array(fc.tuple(fc.integer({ min: 10, max: 3000 }), fc.integer({ min: -900, max: 900 })), {
        maxLength: 4,
      }),
      share: fc.double({ min: 0, max: 1, noNaN: true }),
    });
    fc.assert(
      fc.property(arbitrary, ({ startStation, jumps, share }) => {
        let internal = startStation;
        let ahead = startStation;
        const equations = jumps.map(([run, jump]) => {
          internal += run;
          const back = ahead + run;
          ahead = back + jump;
          return equation(internal, back, ahead);
        });
        const line: Stationing = { startStation, length: internal - startStation + 100, equations };
        const place = share * line.length;
        const places = distancesOfStation(line, parseStation(stationLabel(line, place, METRIC, 6), METRIC)!, METRIC);
        expect(places.some((found) => Math.abs(found - place) < 1e-5)).toBe(true);
        // At an equation one place has two stations.
        for (const found of distancesOfStation(line, at(stationAt(line, place)), METRIC))
          if (!equations.some((e) => Math.abs(e.internal - startStation - found) < 1e-5))
            expect(stationAt(line, found)).toBeCloseTo(stationAt(line, place), 6);
      }),
      { numRuns: 300, seed: 7 },
    );
  });
});

describe('sections', () => {
  it('are cut at multiples of their length in stations and at equations', () => {
    expect(sectionBorders({ startStation: 3250, length: 320, equations: [] }, METRIC, 100)).toEqual([
      0, 50, 150, 250, 320,
    ]);
    const line: Stationing = { startStation: 100, length: 200, equations: [equation(250, 250, 290)] };
    expect(sectionBorders(line, METRIC, 100)).toEqual([0, 100, 150, 160, 200]);
  });
});
