import { describe, expect, it } from 'vitest';
import { statedCrs } from '../../src/delivery/stated-crs.js';
import { parseSurveyPoints } from '../../src/delivery/survey-points.js';

const geojson = (name: unknown) =>
  JSON.stringify({ type: 'FeatureCollection', crs: { type: 'name', properties: { name } } });

describe('the system a points file states', () => {
  it.each([
    ['EPSG:25833', 'EPSG:25833'],
    ['urn:ogc:def:crs:EPSG::25833', 'EPSG:25833'],
    ['urn:ogc:def:crs:EPSG:9.8:25833', 'EPSG:25833'],
    ['EPSG:25833+5799', 'EPSG:25833+5799'],
  ])('GeoJSON, member crs: %s', (name, expected) => {
    expect(statedCrs(geojson(name))).toBe(expected);
  });

  it.each([
    ['# crs: EPSG:25833\nid,x,y,z\n', 'EPSG:25833'],
    ['\ufeff# CRS = urn:ogc:def:crs:EPSG::25833 \nid,x,y,z\n', 'EPSG:25833'],
    ['# points of March\n#crs: +proj=utm +zone=33 +ellps=GRS80\nid,x,y,z\n', '+proj=utm +zone=33 +ellps=GRS80'],
  ])('CSV, a comment line: %j', (text, expected) => {
    expect(statedCrs(text)).toBe(expected);
  });

  it('nothing where nothing is stated, or something else', () => {
    expect(statedCrs('id,x,y,z\nA,1,2,3\n')).toBeNull();
    expect(statedCrs('# crs: the usual one\nid,x,y,z\n')).toBeNull();
    expect(statedCrs('# the crs is EPSG:25833\nid,x,y,z\n')).toBeNull();
    expect(statedCrs(geojson('urn:ogc:def:crs:OGC:1.3:CRS84'))).toBeNull();
    expect(statedCrs(geojson(25833))).toBeNull();
    expect(statedCrs('{"type":')).toBeNull();
  });

  it('long lines of blanks take no time', () => {
    const blanks = ' '.repeat(200_000);
    const begin = performance.now();
    expect(statedCrs(`#${blanks}crs${blanks}: a${blanks}b\n${'\n'.repeat(100_000)}id,x,y,z\n`)).toBeNull();
    expect(performance.now() - begin).toBeLessThan(1000);
  });

  it('plan coordinates are moved; heights, sigmas and places measured in the cloud are not', () => {
    const text = 'id,x,y,z,cloud_x,cloud_y,cloud_z,sigma_h\nA,10,20,30,1,2,3,0.01\n';
    const [point] = parseSurveyPoints(text, 'p.csv', {
      metresPerUnit: 0.5,
      system: () => ({
        name: 'a foot grid',
        metresPerUnit: 0.3048,
        metresPerUnitHeight: 1,
        transform: (x, y) => [x + 1000, y + 2000],
      }),
    });
    expect(point).toMatchObject({ x: 1003.048, y: 2006.096, z: 30, cloudX: 0.5, cloudY: 1, cloudZ: 1.5 });
    expect(point.sigmaH).toBeCloseTo(0.003048, 12);
  });

  it('a place outside the projection is a fault that names the line', () => {
    const system = () => ({ name: 'EPSG:25833', metresPerUnit: 1, metresPerUnitHeight: 1, transform: () => null });
    expect(() => parseSurveyPoints('id,x,y,z\nA,1e30,20,30\n', 'p.csv', { system })).toThrow(
      /p.csv, line 2: the point lies where EPSG:25833/,
    );
  });
});
