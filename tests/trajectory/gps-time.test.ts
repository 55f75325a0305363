import { describe, expect, it } from 'vitest';
import { statedTime } from '../../src/delivery/time-systems.js';
import { gpsOfUnix, gpsOfUtc, gpsWords, leapSecondsAt, weekOf } from '../../src/trajectory/gps-time.js';

const unix = (text: string) => Date.parse(text) / 1000;

describe('GPS time', () => {
  // Pairs published at docs.rs/chrono_gpst, in a blog and on the time-nuts list, recomputed with leap-seconds.list of the time
  // zone database; the others computed with it.
  it.each([
    ['2005-01-28T13:30:00Z', 790_954_213, 1307, 480_613, 13],
    ['2014-08-15T07:00:27Z', 1_092_121_243, 1805, 457_243, 16],
    ['2019-04-06T23:59:41Z', 1_238_630_399, 2047, 604_799, 18],
    ['2019-04-06T23:59:42Z', 1_238_630_400, 2048, 0, 18],
    ['2011-09-14T01:46:25Z', 1_000_000_000, 1653, 265_600, 15],
    ['2016-12-31T23:59:59Z', 1_167_264_016, 1930, 16, 17],
    ['2017-01-01T00:00:00Z', 1_167_264_018, 1930, 18, 18],
    ['2025-01-01T00:00:00Z', 1_419_724_818, 2347, 259_218, 18],
  ])('%s is second %i, week %i, second of the week %i, %i s before UTC', (utc, gps, week, seconds, leap) => {
    expect(gpsOfUnix(unix(utc))).toBe(gps);
    const day = unix(`${utc.slice(0, 10)}T00:00:00Z`);
    expect(gpsOfUtc(day, unix(utc) - day)).toBe(gps);
    expect(weekOf(gps)).toEqual({ week, seconds });
    expect(leapSecondsAt(unix(utc))).toBe(leap);
  });

  it('a leap second has a second of its own', () => {
    // 2016-12-31T23:59:60Z, computed with leap-seconds.list.
    expect(gpsOfUtc(unix('2016-12-31T00:00:00Z'), 86_400)).toBe(1_167_264_017);
  });

  it('the seconds of a week are GPS time: adding the leap seconds instead is the usual mistake', () => {
    // Week 1811, 164196.732 s is 2014-09-22T21:36:20.732Z; a public program prints 21:36:52.732.
    const gps = 1811 * 604_800 + 164_196.732;
    expect(gpsOfUnix(unix('2014-09-22T21:36:20Z'))).toBe(Math.floor(gps));
    expect(gpsWords(gps)).toBe('2014-09-22 21:36:36');
  });
});

describe('a statement of a time system', () => {
  it.each([
    ['gps-week-seconds, week 2347', { system: 'gps-week-seconds', week: 2347 }],
    ['gps-week-seconds 2347', { system: 'gps-week-seconds', week: 2347 }],
    ['gps-week-seconds', { system: 'gps-week-seconds', week: null }],
    [' UTC ', { system: 'utc', week: null }],
    ['unix-seconds', { system: 'unix-seconds', week: null }],
    ['utc, week 5', null],
    ['local time', null],
  ])('%s', (text, found) => {
    expect(statedTime(text)).toEqual(found);
  });
});
