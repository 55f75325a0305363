import { describe, expect, it } from 'vitest';
import { CsvReader } from '../../src/trajectory/read-csv.js';
import { cloudOf, read, rows, START } from './read.js';

const table = (row: (s: number, x: number, y: number) => string, head = 'time,x,y,z') => `${head}\n${rows(row)}`;
const good = table((s, x, y) => `${START + s},${x},${y},12`);
const lines = good.split('\n');

describe('a trajectory that cannot be used says why in one sentence', () => {
  it.each<[string, string | Uint8Array, RegExp]>([
    ['an empty file', '', /the file is empty/],
    ['names of columns alone', 'time,x,y,z\n', /holds no row/],
    ['no time', 'x,y,z\n1,2,3\n', /no column holds the time/],
    ['no position', 'time,z\n1,2\n', /no two columns hold the position/],
    ['numbers without names', '1,2,3\n4,5,6\n', /first line must name the columns/],
    ['a column twice', 'time,x,east,y\n1,2,3,4\n', /"x" and "east" mean the same/],
    [
      'reversed time',
      [...lines.slice(0, 4), lines[2], ''].join('\n'),
      /line 5: the time is before that of the row before/,
    ],
    [
      'the same time elsewhere',
      `${lines.slice(0, 3).join('\n')}\n${lines[2].replace(',12', ',99')}\n`,
      /line 4: .*at another position/,
    ],
    [
      'a text for a number',
      good.replace(lines[5], lines[5].replace(/,.*?,/, ',abc,')),
      /line 6, column 2 "x": a number is expected here \(found "abc"\)/,
    ],
    ['a last line that was cut', good.slice(0, -9), /too few columns .*cut short/],
    [
      'a row without a position',
      good.replace(lines[5], lines[5].replace(/,.*?,/, ',,')),
      /line 6: the row has no position/,
    ],
    ['two decimal marks', 'time;x;y;z\n1,5;2;3;4\n2.5;2;3;4\n', /decimal mark is "." here and "," in earlier/],
    ['an unknown solution', 'time,x,y,z,fix\n1,2,3,4,perfect\n', /no solution type/],
    ['a statement that is not known', `# time: local\n${good}`, /"local" is not known here/],
    ['UTF-16', new Uint8Array([0xff, 0xfe, 0x74, 0]), /UTF-16/],
    ['bytes that are no text', new Uint8Array([0, 1, 2, 3, 10, 0, 0, 10]), /not a text|no column/],
  ])('%s', async (_, text, sentence) => {
    const { drives, problem } = await read(text);
    expect([drives.length, problem]).toEqual([0, expect.stringMatching(sentence)]);
    expect(problem).not.toContain('\n');
  });

  it.each<[string, string, RegExp]>([
    [
      'feet',
      table((s, x, y) => `${START + s},${x / 0.3048},${y / 0.3048},12`),
      /it fits if its coordinates are in (US survey )?feet/,
    ],
    ['exchanged axes', table((s, x, y) => `${START + s},${y},${x},12`), /easting and northing exchanged/],
    ['another zone', table((s, x, y) => `${START + s},${x - 396_000},${y + 9000},12`), /is \d+\.\d km from the cloud/],
    [
      'degrees in projected columns',
      table((s, x) => `${START + s},${9.9 + x / 1e8},53.5123,12`),
      /its coordinates are degrees/,
    ],
    [
      'exchanged degrees',
      table((s) => `${START + s},53.5,109.9,12`, 'time,longitude,latitude,z'),
      /beyond any place on Earth|km from the cloud/,
    ],
  ])('%s: how far it is, and what would fit', async (_, text, sentence) => {
    expect((await read(text)).problem).toMatch(sentence);
  });

  it('a line without an end is given up after a mebibyte', () => {
    const reader = new CsvReader('drive.csv');
    const piece = Buffer.alloc(1 << 18, 49);
    expect(() => {
      for (let k = 0; k < 8192; k++) reader.add(piece);
    }).toThrow(/a line has more than 1 MiB without a line end/);
  });

  it('rows that repeat the row before are left out and counted', async () => {
    const doubled = `time,x,y,z\n${rows((s, x, y) => `${START + s},${x},${y},12\n${START + s},${x},${y},12`)}`;
    const { drives, notes, problem } = await read(doubled);
    expect([problem, drives[0].rows]).toEqual([undefined, 1201]);
    expect(notes.join(' ')).toContain('1201 rows that repeat the row before were left out');
  });

  it('letters of other encodings in names and texts do no harm', async () => {
    const head = Buffer.from('time;Rechtswert;Hochwert;H\u00f6he;Bemerkung\n', 'latin1');
    const body = rows((s, x, y) => `${START + s};${x};${y};12;gr\u00fcn`);
    const { drives } = await read(Buffer.concat([head, Buffer.from(body, 'latin1')]));
    expect(drives[0].z[0]).toBe(12);
  });

  it('degrees cannot be converted for a cloud without a coordinate system', async () => {
    const text = table((s) => `${START + s},9.9,53.5,12`, 'time,lon,lat,z');
    expect((await read(text, cloudOf({ crs: null }))).problem).toMatch(
      /neither the cloud nor the spec states a coordinate system/,
    );
  });
});
