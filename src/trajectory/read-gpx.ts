import { readXml } from '../delivery/xml.js';
import { Fault } from '../fault.js';
import { type Field, solutionOf } from './columns.js';
import { DateTimeReader } from './date-time.js';
import type { RawDrive, RawFile } from './raw-drive.js';
import { RowDrive } from './row-drive.js';

/** Elements of a track point that are read, by the field they give. GPX 1.1 has no attitude and no standard deviations. */
const NUMBERS: Readonly<Record<string, Field>> = { ele: 'height', sat: 'satellites', pdop: 'pdop' };

/**
 * Reads the tracks of GPX 1.1: positions on WGS 84 in degrees, times in UTC. Every track is a drive; a new segment is a gap.
 * @throws Fault `trajectory-value` for a point without time, `trajectory-empty`, `xml-syntax`
 */
export function readGpx(text: string, where: string): RawFile {
  const dates = new DateTimeReader();
  const drives: RowDrive[] = [];
  let point: { values: Partial<Record<Field, number>>; line: number } | null = null;
  let element = '';
  let content = '';
  let tracks = 0;
  readXml(text, where, {
    open({ name, attributes, line }) {
      if (name === 'trk') {
        tracks++;
        drives.push(new RowDrive(tracks === 1 ? where : `${where} (track ${tracks})`));
      }
      if (name === 'trkpt')
        point = { values: { longitude: coordinate(attributes.lon), latitude: coordinate(attributes.lat) }, line };
      element = name;
      content = '';
    },
    text(part) {
      content += part;
    },
    close(name) {
      if (point === null) return;
      const value = content.trim();
      if (name === element && value !== '') {
        if (name in NUMBERS) point.values[NUMBERS[name]] = Number(value);
        if (name === 'time') point.values.time = dates.gpsOf(value) ?? Number.NaN;
        const solution = name === 'fix' ? solutionOf(value) : null;
        if (typeof solution === 'number') point.values.solution = solution;
      }
      element = '';
      if (name !== 'trkpt') return;
      const { values, line } = point;
      point = null;
      const { time, longitude, latitude } = values;
      if (time === undefined || Number.isNaN(time + longitude! + latitude!)) {
        const what = 'the track point has no time, longitude or latitude';
        throw new Fault({ code: 'trajectory-value', where: `${where}, line ${line}`, what });
      }
      drives[drives.length - 1]?.add(values, () => `line ${line}`);
    },
  });
  const filled = drives.filter(({ rows }) => rows > 0);
  if (filled.length === 0) throw new Fault({ code: 'trajectory-empty', where, what: 'the file holds no track point' });
  const found: RawDrive[] = filled.map((drive) => drive.finish());
  return { drives: found, crs: null, time: { system: 'utc', week: null }, anglesStated: true, factors: {}, notes: [] };
}

function coordinate(text: string | undefined): number {
  return text === undefined || text.trim() === '' ? Number.NaN : Number(text);
}
