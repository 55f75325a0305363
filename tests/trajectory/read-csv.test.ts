import { describe, expect, it } from 'vitest';
import { CsvReader } from '../../src/trajectory/read-csv.js';
import { utm } from '../end-to-end/utm.js';
import { cloudOf, read, rows, START } from './read.js';

const plain = `time,easting,northing,height\n${rows((s, x, y) => `${START + s},${x},${y},12`)}`;

/** The epochs of a text that is given in pieces of some bytes. */
function epochsOf(text: string, piece = 1 << 20) {
  const reader = new CsvReader('drive.csv');
  const bytes = Buffer.from(text);
  for (let at = 0; at < bytes.length; at += piece) reader.add(bytes.subarray(at, at + piece));
  return reader.finish().drives[0].epochs;
}

describe('a table', () => {
  it('becomes a drive in the time and the system of the cloud', async () => {
    const { drives, problem, notes } = await read(plain);
    expect(problem).toBeUndefined();
    expect(drives).toHaveLength(1);
    const [drive] = drives;
    expect(drive).toMatchObject({ name: 'drive1.csv', rows: 1201, epochs: 1201, roll: null, solution: null });
    expect(drive.time[10]).toBeCloseTo(START + 991, 6);
    expect([drive.x[10], drive.y[10], drive.z[10]]).toEqual([559_982, 5_930_050, 12]);
    expect(drive.time.buffer).toBeInstanceOf(SharedArrayBuffer);
    expect(drive.digest).toMatch(/^[0-9a-f]{64}$/);
    expect(notes.join(' ')).toContain('adjusted standard GPS seconds');
  });

  it.each([
    [';', ','],
    ['\t', ','],
    [';', '.'],
    [',', '.'],
  ])('is read with %j between columns and %j as decimal mark', async (delimiter, mark) => {
    const text = plain.replaceAll(',', delimiter).replaceAll('.', mark);
    const { drives } = await read(text);
    expect(drives[0].x[1]).toBeCloseTo(560_000 - 19.8, 9);
  });

  it('is the same in whatever pieces it is read', () => {
    for (const bytes of [1, 7, 4096])
      expect(epochsOf(plain.slice(0, 4000).replace(/[^\n]*$/, ''), bytes)).toEqual(
        epochsOf(plain.slice(0, 4000).replace(/[^\n]*$/, '')),
      );
  });

  it('numbers are those of the language, digit for digit', () => {
    // Correctly rounded decimal to double: the language standard (ECMA-262, StringToNumber), up to a unit in the last place.
    const numbers = [
      '1419724818.123456',
      '0.1',
      '-0.000001',
      '560000.12345678',
      '5930050',
      '.5',
      '1e-3',
      '+7.25',
      '9007199254740993.5',
    ];
    const text = `time,x,y,h\n${numbers.map((n, i) => `${i},${n},1,1`).join('\n')}\n`;
    const { columns } = epochsOf(text);
    numbers.forEach((n, i) => {
      const found = columns.x![i];
      expect(Math.abs(found - Number(n))).toBeLessThanOrEqual(Math.abs(Number(n)) * Number.EPSILON);
    });
  });

  it('the published column list of the Korean form 3 for trajectories is read as it is', async () => {
    const head =
      'GPSTime,Longitude,Latitude,Height,Roll,Pitch,Heading,PDOP,Num of GNSS,Ambiguities,East SD,North SD,Height SD,Roll SD,Pitch SD,Heading SD';
    const degrees = (x: number, y: number) =>
      utm.inverse(32, x, y).map((radians) => ((radians * 180) / Math.PI).toFixed(11));
    const text = `${head}\n${rows((s, x, y) => `${259_218 + s},${degrees(x, y).join(',')},12.5,0.1,-0.2,90.0,1.8,11,Fixed,0.011,0.012,0.021,0.004,0.005,0.02`)}`;
    const { drives, problem } = await read(text);
    expect(problem).toBeUndefined();
    const [drive] = drives;
    // Position: the series of Krüger in tests/end-to-end/utm.ts, within a millimetre.
    expect(Math.abs(drive.x[600] - 560_100)).toBeLessThan(0.001);
    expect(Math.abs(drive.y[600] - 5_930_050)).toBeLessThan(0.001);
    expect(drive.time[600]).toBeCloseTo(START + 1050, 6);
    // Meridian convergence at 60 km east of the central meridian, latitude 53.5 degrees: (longitude - 9) sin(latitude).
    const [longitude, latitude] = utm.inverse(32, 560_100, 5_930_050);
    const turned = (longitude - Math.PI / 20) * Math.sin(latitude) * (180 / Math.PI);
    expect(drive.heading![600]).toBeCloseTo(90 - turned, 3);
    expect(drive).toMatchObject({ satellites: expect.any(Uint8Array), baseDistance: null, separationEast: null });
    expect([drive.solution![0], drive.satellites![0]]).toEqual([5, 11]);
    expect(drive.pdop![0]).toBeCloseTo(1.8, 6);
    expect(drive.means.sigmaHeading).toBeCloseTo(0.02, 9);
  });

  it('rows of 0.05 s are one epoch with the worst of their qualities, and a change of the solution begins another', () => {
    const at = (i: number) => (i / 200).toFixed(3);
    const text = `time;x;y;h;fix;sd_east_mm;sats;separation_n\n${Array.from({ length: 30 }, (_, i) => `${at(i)};${i};0;0;${i >= 14 && i < 17 ? 'float' : 'fixed'};${i === 5 ? 90 : 10};${i === 3 ? 4 : 9};${i === 7 ? -0.5 : 0.1}`).join('\n')}\n`;
    const { epochs, rows: count, columns, time, interval, means } = epochsOf(text);
    expect(count).toBe(30);
    expect([...time]).toEqual([0, 0.05, 0.07, 0.085, 0.135]);
    expect(epochs).toBe(5);
    expect([...columns.solution!]).toEqual([5, 5, 4, 5, 5]);
    expect([...columns.sigmaEast!].map((v) => Math.round(v))).toEqual([90, 10, 10, 10, 10]);
    expect([...columns.satellites!]).toEqual([4, 9, 9, 9, 9]);
    expect(columns.separationNorth![0]).toBeCloseTo(-0.5, 6);
    expect([...interval].map((v) => v.toFixed(3))).toEqual(
      ['0.005', '0.005', '0.005', '0.005', '0.005'].slice(0, 4).concat('0.005'),
    );
    expect(means.separationNorth).toBeCloseTo((29 * 0.1 + 0.5) / 30, 9);
  });

  it('units stand in the names of columns: radians, milliseconds, feet', async () => {
    const text = `time [ms];easting (ft);northing (ft);height;heading_rad\n${rows((s, x, y) => `${(START + s) * 1000};${x / 0.3048};${y / 0.3048};12;${Math.PI / 2}`)}`;
    const { drives, problem } = await read(text);
    expect(problem).toBeUndefined();
    expect(drives[0].heading![3]).toBeCloseTo(90, 4);
    expect(drives[0].x[600]).toBeCloseTo(560_100, 6);
  });

  it('the unit of angles is known by the course driven where none is stated', async () => {
    const text = (heading: number) =>
      `time,x,y,z,roll,heading\n${rows((s, x, y) => `${START + s},${x},${y},12,0.02,${heading}`)}`;
    expect((await read(text(Math.PI / 2))).drives[0].heading![0]).toBeCloseTo(90, 4);
    expect((await read(text(Math.PI / 2))).drives[0].roll![0]).toBeCloseTo(0.02 * (180 / Math.PI), 4);
    expect((await read(text(90))).drives[0].heading![0]).toBe(90);
    expect((await read(`# angles: degrees\n${text(Math.PI / 2)}`)).problem).toMatch(
      /agree with the course driven only as radians/,
    );
    expect((await read(`# angles: radians\n${text(90)}`)).problem).toMatch(/stated in radians, but one of them is 90/);
  });

  it('positions in another zone are converted, as stated or as asked', async () => {
    const other = rows((s, x, y) => {
      const [longitude, latitude] = utm.inverse(32, x, y);
      const [east, north] = utm.forward(33, longitude, latitude);
      return `${START + s},${east.toFixed(4)},${north.toFixed(4)},12`;
    });
    const text = `time,easting,northing,height\n${other}`;
    for (const found of [
      await read(`# crs: EPSG:25833\n${text}`),
      await read(text, cloudOf(), { crs: 'EPSG:25833' }),
    ]) {
      expect(found.problem).toBeUndefined();
      expect(Math.abs(found.drives[0].x[600] - 560_100)).toBeLessThan(0.001);
    }
    expect((await read(text)).problem).toMatch(
      /the trajectory is \d+\.\d km from the cloud; it fits if its system is EPSG:25833/,
    );
  });
});
