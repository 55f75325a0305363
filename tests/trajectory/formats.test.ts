import { describe, expect, it } from 'vitest';
import { NmeaReader, sentenceOf } from '../../src/trajectory/read-nmea.js';
import { utm } from '../end-to-end/utm.js';
import { cloudOf, read, rows, START } from './read.js';

/** A sentence with its checksum: exclusive or of the bytes between $ and * (NMEA 0183). */
const sentence = (body: string) => {
  const sum = [...body].reduce((x, c) => x ^ c.charCodeAt(0), 0);
  return `$${body}*${sum.toString(16).toUpperCase().padStart(2, '0')}`;
};
const degrees = (x: number, y: number) => utm.inverse(32, x, y).map((radians) => (radians * 180) / Math.PI);
/** START is 2025-01-01T00:00:00Z (section 12 of the published pairs); 18 leap seconds are in it already. */
const utcOf = (second: number) => new Date(Date.UTC(2025, 0, 1) + second * 1000).toISOString();

describe('NMEA 0183', () => {
  // Sentences and their meaning as published in the open description of NMEA 0183 (gpsd, www/NMEA.adoc) and receivers' logs.
  const GGA = '$GNGGA,001043.00,4404.14036,N,12118.85961,W,1,12,0.98,1113.0,M,-21.3,M,,*47';
  const GST = '$GPGST,182141.000,15.5,15.3,7.2,21.8,0.9,0.5,0.8*54';
  const GSA = '$GNGSA,A,3,80,71,73,79,69,,,,,,,,1.83,1.09,1.47*17';
  const RMC = '$GNRMC,001031.00,A,4404.13993,N,12118.86023,W,0.146,,100117,,,A*7B';
  const ZDA = '$GPZDA,160012.71,11,03,2004,-1,00*7D';

  it.each([GGA, GST, GSA, RMC, ZDA])('the checksum of %s is right, and wrong after any change', (text) => {
    expect(sentenceOf(text)).not.toBeNull();
    expect(sentenceOf(text.replace('1', '2'))).toBeNull();
    expect(sentenceOf(text.replace(/\*.*/, ''))).toBeNull();
  });

  it('the published sentences give place, day, solution, satellites and PDOP', () => {
    const reader = new NmeaReader('log.nmea');
    reader.add(Buffer.from([RMC, GSA, GGA, ''].join('\r\n')));
    const { epochs } = reader.finish().drives[0];
    expect(epochs.columns.latitude![0]).toBeCloseTo(44.069006, 6);
    expect(epochs.columns.longitude![0]).toBeCloseTo(-121.314327, 6);
    expect(epochs.columns.height![0]).toBe(1113);
    expect(epochs.columns.pdop![0]).toBeCloseTo(1.83, 6);
    expect([epochs.columns.satellites![0], epochs.columns.solution![0]]).toEqual([12, 2]);
    // 2017-01-10T00:10:43Z: 18 leap seconds since 1 January 2017.
    expect(epochs.time[0]).toBe(Date.UTC(2017, 0, 10, 0, 10, 43) / 1000 - 315_964_800 + 18);
    expect(epochs.columns.sigmaEast).toBeUndefined();
  });

  it('a log becomes a drive of the cloud; damaged sentences are left out and counted; midnight is passed', async () => {
    const lines = ['noise'];
    rows((s, x, y) => {
      // The points are from 00:16:40 on, so the log begins 1100 s earlier, on the day before.
      const utc = utcOf(s - 1005);
      const time = `${utc.slice(11, 13)}${utc.slice(14, 16)}${utc.slice(17, 22)}`;
      const [longitude, latitude] = degrees(x, y);
      const minutes = (value: number, width: number) =>
        `${String(Math.floor(value)).padStart(width, '0')}${((value % 1) * 60).toFixed(7).padStart(10, '0')}`;
      const date = `${utc.slice(8, 10)}${utc.slice(5, 7)}${utc.slice(2, 4)}`;
      lines.push(
        sentence(`GNGGA,${time},${minutes(latitude, 2)},N,${minutes(longitude, 3)},E,4,14,0.8,12.0,M,40.0,M,1.0,0001`),
        sentence(`GNGST,${time},0.01,0.01,0.01,0,0.012,0.011,0.021`),
        sentence(`GNRMC,${time},A,,N,,E,0.1,,${date},,,A`),
      );
      return '';
    });
    lines[10] = lines[10].replace(/.\*/, 'X*');
    const cloud = cloudOf({ times: Float64Array.from({ length: 100 }, (_, i) => START - 5 + i) });
    const { drives, problem, notes } = await read(lines.join('\n'), cloud);
    expect(problem).toBeUndefined();
    const [drive] = drives;
    expect(drive.time[0]).toBeCloseTo(START + 990 - 1005, 6);
    expect(drive.time[drive.epochs - 1]).toBeCloseTo(START + 1110 - 1005, 6);
    expect(Math.abs(drive.x[600] - 560_100)).toBeLessThan(1);
    expect(drive.sigmaEast![5]).toBeCloseTo(0.011, 6);
    expect(notes.join(' ')).toContain('1 sentences with a missing or wrong checksum');
  });

  it('positions entered by hand or simulated are refused, and so is a log without a date', async () => {
    const [longitude] = ['00900.0'];
    const gga = (quality: number) => sentence(`GNGGA,001640.00,5330.0,N,${longitude},E,${quality},9,1,1,M,1,M,,`);
    expect((await read(`${gga(8)}\n`)).problem).toMatch(/line 1: the position was simulated, not measured/);
    expect((await read(`${gga(4)}\n`)).problem).toMatch(/no sentence states the date/);
  });
});

describe('GPX 1.1', () => {
  const point = (s: number, x: number, y: number) => {
    const [longitude, latitude] = degrees(x, y);
    return `<trkpt lat="${latitude}" lon="${longitude}"><ele>12</ele><time>${utcOf(s)}</time><fix>dgps</fix><sat>9</sat><pdop>1.5</pdop></trkpt>`;
  };
  const gpx = (body: string) =>
    `<?xml version="1.0"?><gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1">${body}</gpx>`;

  it('every track is a drive, in the time and the system of the cloud', async () => {
    const [one, two] = [rows(point), point(1200, 560_300, 5_930_050)];
    const { drives, problem } = await read(
      gpx(`<trk><name>a</name><trkseg>${one}</trkseg></trk><trk><trkseg>${two}</trkseg></trk>`),
    );
    expect(problem).toBeUndefined();
    expect(drives.map(({ name, epochs }) => [name, epochs])).toEqual([
      ['drive1.csv', 1201],
      ['drive1.csv (track 2)', 1],
    ]);
    expect(drives[0].time[100]).toBeCloseTo(START + 1000, 3);
    expect(Math.abs(drives[0].x[600] - 560_100)).toBeLessThan(0.001);
    expect([drives[0].solution![0], drives[0].satellites![0], drives[0].heading]).toEqual([3, 9, null]);
  });

  it.each([
    ['a point without time', gpx('<trk><trkseg><trkpt lat="1" lon="2"/></trkseg></trk>'), /has no time/],
    [
      'a file that was cut short',
      gpx(`<trk><trkseg>${point(1000, 560_000, 5_930_000)}`).slice(0, -20),
      /not well-formed XML/,
    ],
    ['an entity', `<!DOCTYPE gpx [<!ENTITY a "b">]>${gpx('&a;')}`, /not well-formed XML/],
    ['no track', gpx(''), /holds no track point/],
  ])('%s is named', async (_, text, sentenceOfProblem) => {
    expect((await read(text)).problem).toMatch(sentenceOfProblem);
  });
});

describe('OGC Moving Features JSON', () => {
  const coordinates: number[][] = [];
  const datetimes: string[] = [];
  rows((s, x, y) => {
    coordinates.push([...degrees(x, y), 12]);
    datetimes.push(utcOf(s));
    return '';
  });

  it.each<[string, object]>([
    ['simple', { type: 'Feature', geometry: { type: 'LineString', coordinates }, properties: { datetimes } }],
    [
      'prism',
      {
        type: 'FeatureCollection',
        features: [
          {
            type: 'Feature',
            temporalGeometry: { type: 'MovingPoint', coordinates, datetimes },
            temporalProperties: [{ datetimes, heading: { values: datetimes.map(() => 88) } }],
          },
        ],
      },
    ],
  ])('the %s form is read', async (form, root) => {
    const { drives, problem } = await read(JSON.stringify(root));
    expect(problem).toBeUndefined();
    expect(drives[0].time[100]).toBeCloseTo(START + 1000, 3);
    expect(Math.abs(drives[0].x[600] - 560_100)).toBeLessThan(0.001);
    expect(drives[0].heading === null).toBe(form === 'simple');
  });

  it('lists of different lengths, and a text that was cut short, are named', async () => {
    const root = {
      type: 'Feature',
      geometry: { type: 'LineString', coordinates },
      properties: { datetimes: datetimes.slice(1) },
    };
    expect((await read(JSON.stringify(root))).problem).toMatch(/1201 positions and 1200 times/);
    expect((await read(JSON.stringify(root).slice(0, 900))).problem).toMatch(/not JSON; it may have been cut short/);
  });
});
