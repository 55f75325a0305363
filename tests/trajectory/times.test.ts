import { describe, expect, it } from 'vitest';
import { cloudOf, read, rows, START } from './read.js';

// START is 2025-01-01T00:00:00Z in adjusted standard GPS time: week 2347, second 259218, 18 leap seconds (published pairs, recomputed).
const GPS = START + 1e9;
const text = (time: (second: number) => string | number, head = 'time') =>
  `${head},x,y,z\n${rows((s, x, y) => `${time(s)},${x},${y},12`)}`;
const utc = (s: number) => new Date(Date.UTC(2025, 0, 1) + s * 1000).toISOString();
const isPlaced = async (...given: Parameters<typeof read>) => {
  const { drives, problem } = await read(...given);
  expect(problem).toBeUndefined();
  return drives;
};

describe('times of a trajectory', () => {
  it.each<[string, string]>([
    ['adjusted standard GPS time', text((s) => START + s)],
    ['standard GPS time', text((s) => GPS + s)],
    ['seconds of the week, the week that of the cloud', text((s) => 259_218 + s)],
    ['seconds of the week with their week', `# time: gps-week-seconds, week 2347\n${text((s) => 259_218 + s)}`],
    ['a week of ten bits', `# time: gps-week-seconds, week 299\n${text((s) => 259_218 + s)}`],
    ['a column of weeks', `week,sow,x,y,z\n${rows((s, x, y) => `2347,${259_218 + s},${x},${y},12`)}`],
    ['UTC', text(utc)],
    ['Unix time', text((s) => Date.UTC(2025, 0, 1) / 1000 + s)],
  ])('%s is brought to the time of the cloud', async (_, given) => {
    const [drive] = await isPlaced(given);
    expect(drive.time[100]).toBeCloseTo(START + 1000, 3);
  });

  it('a cloud in seconds of the week, and one with the offset of LAS 1.5', async () => {
    const weekly = cloudOf({ times: Float64Array.of(259_218 + 1000, 259_218 + 1100) }, { globalEncoding: 0 });
    expect(
      (
        await isPlaced(
          text((s) => GPS + s),
          weekly,
        )
      )[0].time[100],
    ).toBeCloseTo(259_218 + 1000, 3);
    expect(
      (
        await isPlaced(
          text((s) => 259_218 + s),
          weekly,
        )
      )[0].time[100],
    ).toBeCloseTo(259_218 + 1000, 3);
    // LAS 1.5, global encoding bits 0 and 6: GPS seconds less 1e6 times the offset at byte 391.
    const header = { globalEncoding: 65, versionMinor: 5, timeOffset: 1419 };
    const offset = cloudOf({ times: Float64Array.of(GPS - 1419e6 + 1000, GPS - 1419e6 + 1100) }, header);
    expect(
      (
        await isPlaced(
          text((s) => START + s),
          offset,
        )
      )[0].time[100],
    ).toBeCloseTo(GPS - 1419e6 + 1000, 3);
  });

  it('a drive over Saturday midnight goes on, and is cut where the clouds begin again from 0', async () => {
    // 2019-04-06T23:59:42Z is week 2048, second 0 (published pair): second 1050 of the drive is put there.
    const turned = text((s) => (604_800 + s - 1050) % 604_800);
    const sunday = 1_238_630_400 - 1e9;
    const adjusted = cloudOf({ times: Float64Array.of(sunday - 10, sunday + 10) });
    const [whole] = await isPlaced(turned, adjusted);
    expect(whole.time[0]).toBeCloseTo(sunday - 60, 3);
    expect(whole.time[whole.epochs - 1]).toBeCloseTo(sunday + 60, 3);
    const weekly = cloudOf({ times: Float64Array.of(10, 604_790) }, { globalEncoding: 0 });
    for (const given of [turned, text((s) => 1_238_630_400 + s - 1050)]) {
      const parts = await isPlaced(given, weekly);
      expect(parts.map(({ time, continues }) => [Math.round(time[0] * 10) / 10, continues])).toEqual([
        [0, 'drive1.csv (before the end of the week)'],
        [604_740, undefined],
      ]);
      expect(parts[0].epochs + parts[1].epochs).toBe(1201);
    }
  });

  it('files of different time systems are one trajectory, in order of time', async () => {
    const late = `time,x,y,z\n${START + 1200},560100,5930050,12\n${START + 1201},560110,5930050,12\n`;
    const drives = await isPlaced([late, text(utc)]);
    expect(drives.map(({ name }) => name)).toEqual(['drive2.csv', 'drive1.csv']);
  });

  it.each<[string, string, RegExp]>([
    [
      'of another day',
      text((s) => START + s + 86_400),
      /from 2025-01-02 .* to 2025-01-02 .* the points are from 2025-01-01 /,
    ],
    [
      'of another week',
      `# time: gps-week-seconds, week 2350\n${text((s) => 259_218 + s)}`,
      /the points are from 2025-01-01 .*It would fit as seconds of the GPS week, week 2347/,
    ],
    [
      'stated as another system',
      `# time: gps-seconds\n${text((s) => START + s)}`,
      /It would fit as adjusted standard GPS seconds/,
    ],
    ['of no known system', text((s) => 5e10 + s), /as the file counts, the points are from .*--trajectory-time/],
  ])('a trajectory %s is not used, and both ranges are named', async (_, given, sentence) => {
    const { drives, problem } = await read(given);
    expect([drives.length, problem]).toEqual([0, expect.stringMatching(sentence)]);
  });

  it('clouds without GPS time, and files that count in different ways, are named', async () => {
    expect(
      (
        await read(
          text((s) => START + s),
          cloudOf({}, { pointFormat: 2 }),
        )
      ).problem,
    ).toMatch(/carry no GPS time/);
    const [a] = cloudOf().files;
    const [b] = cloudOf({}, { globalEncoding: 0 }).files;
    const mixed = cloudOf({ files: [a, { ...b, name: 'b.laz', index: 1 }] });
    expect(
      (
        await read(
          text((s) => START + s),
          mixed,
        )
      ).problem,
    ).toMatch(/a.laz in adjusted standard GPS time, b.laz in seconds of the GPS week/);
  });

  it('the option and the file must not contradict one another', async () => {
    const stated = `# time: utc\n${text((s) => START + s)}`;
    expect((await read(stated, cloudOf(), { time: 'adjusted-gps-seconds' })).problem).toMatch(
      /state different time systems/,
    );
  });
});
