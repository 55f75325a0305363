import { tidyNumber } from './json.js';
import type { Report } from './model.js';
import { printableJson } from './printable.js';

/** Returns longitude and latitude on WGS 84, degrees, of x and y in the coordinate system of the cloud, metres. */
export type ToWgs84 = (x: number, y: number) => [number, number];

/**
 * GeoJSON text with the locations of every requirement, survey points, zones, and the outlines of files. With `toWgs84` the
 * coordinates are longitude and latitude, degrees, as RFC 7946 requires. Without it they are in the coordinate system of the
 * cloud, metres, and a "crs" member of the older form of the format (GeoJSON 2008, section 3) names the system. Heights are
 * properties, metres in the vertical system of the cloud.
 */
export function reportGeoJson(report: Report, toWgs84: ToWgs84 | null): string {
  const at = (x: number, y: number) =>
    toWgs84 ? toWgs84(x, y).map((degrees) => Math.round(degrees * 1e9) / 1e9) : [tidy(x), tidy(y)];
  const point = (x: number, y: number) => ({ type: 'Point', coordinates: at(x, y) });
  const features = [
    ...report.requirements.flatMap((r) =>
      r.locations.map((l) =>
        feature(point(l.x, l.y), {
          kind: 'location',
          requirement: r.id,
          check: r.check,
          level: r.level,
          verdict: r.verdict,
          note: l.note,
          value: l.value,
          unit: l.unit,
          file: l.file,
          pass: l.pass,
          line: l.line,
          station: l.station,
          stationLabel: l.stationLabel,
          offset: l.offset,
          x: l.x,
          y: l.y,
          z: l.z,
        }),
      ),
    ),
    ...report.surveyPoints.map((p) =>
      feature(point(p.x, p.y), {
        kind: 'survey-point',
        id: p.id,
        role: p.role,
        status: p.status,
        dz: p.dz,
        dx: p.dx,
        dy: p.dy,
        n: p.n,
        method: p.method,
        line: p.line,
        station: p.station,
        stationLabel: p.stationLabel,
        offset: p.offset,
        x: p.x,
        y: p.y,
        z: p.z,
      }),
    ),
    ...report.zones
      .filter(({ polygons }) => polygons.length > 0)
      .map((zone) =>
        feature(
          {
            type: 'MultiPolygon',
            coordinates: zone.polygons.map(({ outer, holes }) => [
              ring(outer, at, true),
              ...holes.map((hole) => ring(hole, at, false)),
            ]),
          },
          { kind: 'zone', zone: zone.name },
        ),
      ),
    ...report.files.flatMap((f) =>
      f.extent
        ? [
            feature(
              { type: 'Polygon', coordinates: [outline(f.extent, at)] },
              {
                kind: 'file',
                file: f.file,
                points: f.points,
                fault: f.fault,
                xMin: f.extent[0],
                yMin: f.extent[1],
                xMax: f.extent[3],
                yMax: f.extent[4],
              },
            ),
          ]
        : [],
    ),
  ];
  const crs = toWgs84 ? {} : legacyCrs(report.delivery.crs.horizontal);
  const collection = { type: 'FeatureCollection', ...crs, verdict: report.verdict, features };
  return printableJson(`${JSON.stringify(collection, null, 2)}\n`);
}

/** Outer ring, counter-clockwise and closed, as RFC 7946, section 3.1.6, requires. */
function outline(extent: readonly number[], at: (x: number, y: number) => number[]): number[][] {
  const [west, south, , east, north] = extent;
  return [at(west, south), at(east, south), at(east, north), at(west, north), at(west, south)];
}

/** A closed ring: counter-clockwise for an outer ring, clockwise for a hole (RFC 7946, section 3.1.6). */
function ring(flat: readonly number[], at: (x: number, y: number) => number[], outer: boolean): number[][] {
  const places = Array.from({ length: flat.length / 2 }, (_, i) => [flat[2 * i], flat[2 * i + 1]]);
  let area = 0;
  for (let i = 1; i + 1 < places.length; i++) {
    const [a, b] = [places[i], places[i + 1]];
    area += (a[0] - flat[0]) * (b[1] - flat[1]) - (b[0] - flat[0]) * (a[1] - flat[1]);
  }
  if (area > 0 !== outer) places.reverse();
  return places.map(([x, y]) => at(x, y));
}

function feature(geometry: object, properties: Record<string, string | number | null | undefined>): object {
  const kept = Object.entries(properties).flatMap(([name, value]) =>
    value === undefined ? [] : [[name, typeof value === 'number' ? tidyNumber(value) : value]],
  );
  return { type: 'Feature', geometry, properties: Object.fromEntries(kept) };
}

function legacyCrs(horizontal: string | null): object {
  const note = "coordinates are in the cloud's own system, not in WGS 84";
  const code = /^EPSG:(\d+)$/i.exec(horizontal ?? '');
  if (!code) return { note, coordinateSystem: horizontal };
  return {
    crs: { type: 'name', properties: { name: `urn:ogc:def:crs:EPSG::${code[1]}` } },
    note,
    coordinateSystem: horizontal,
  };
}

function tidy(value: number): number {
  return tidyNumber(value) ?? 0;
}
