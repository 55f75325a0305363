import { createHash } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { reportJson } from '../../src/report/json.js';
import type { Report } from '../../src/report/model.js';
import { checkDelivery } from '../../src/run/check-delivery.js';

// A street of 40 m, eastings 561100 to 561140; the route runs along it and 30 m further.
const CLOUD = 'test-clouds/formats/las/v14-pf06.las';
const LANDXML = `<?xml version="1.0"?>
<LandXML xmlns="http://www.landxml.org/schema/LandXML-1.2" version="1.2"><Units><Metric linearUnit="meter"/></Units>
<Alignments><Alignment name="Quay road" length="70" staStart="3250"><CoordGeom>
<Line><Start>5932206.5 561100</Start><End>5932206.5 561170</End></Line></CoordGeom>
<StaEquation staInternal="3280" staAhead="3300"/></Alignment></Alignments></LandXML>`;
const SPEC = {
  spec: '1',
  title: 'route',
  requirements: [
    { id: 'ROUTE', check: 'route-coverage', maxGap: 5 },
    { id: 'DENSITY', check: 'density', min: 1, share: 0.5 },
    { id: 'POINTS', check: 'control-spacing', maxSpacing: 50 },
    { id: 'FORMAT', check: 'file-format', versions: ['1.4'] },
  ],
};

describe('a run with a route', () => {
  let folder = '';
  let report: Report;
  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'cloudassay-route-'));
    const write = (name: string, text: string) => {
      writeFileSync(join(folder, name), text);
      return join(folder, name);
    };
    report = await checkDelivery({
      delivery: [CLOUD],
      spec: write('spec.json', JSON.stringify(SPEC)),
      points: write('points.csv', 'id,easting,northing,height,role\nP1,561120,5932208.5,12.1,control\n'),
      route: write('route.xml', LANDXML),
      sections: 20,
      workers: 1,
    });
  });
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  it('names the route with its digest and in the command that repeats the check', () => {
    const sha256 = createHash('sha256').update(LANDXML).digest('hex');
    expect(report.inputs).toContainEqual({ role: 'route', file: 'route.xml', sha256 });
    expect(report.tool.command).toContain('--route route.xml --sections 20');
    expect(report.stationing).toMatchObject({
      by: 'route',
      sectionMetres: 20,
      lines: [{ line: 'Quay road', length: 70, from: '3+250.0', to: '3+340.0' }],
    });
  });

  it('finds the stretch that has no points, by station', () => {
    const route = report.requirements.find(({ id }) => id === 'ROUTE')!;
    expect(route.verdict).toBe('fail');
    // The cloud ends at 561140.1, in the piece of 5 m that ends 45 m along: after the equation of 20 m this is 3+315.
    expect(route.measured.longestGap).toBe(25);
    expect(route.tables[0].rows).toEqual([['Quay road', '3+315.0', '3+340.0', 25, 'no points']]);
    expect(route.locations[0]).toMatchObject({
      line: 'Quay road',
      station: 3327.5,
      stationLabel: '3+327.5',
      offset: 0,
    });
  });

  it('gives survey points of a table their station and offset', () => {
    const points = report.requirements.find(({ id }) => id === 'POINTS')!;
    expect(points.verdict).toBe('pass');
    // 20 m along, 2 m north of an eastward line: left.
    expect(points.tables[0].rows[0].slice(-3)).toEqual(['Quay road', '3+270.0', -2]);
  });

  it('has every requirement with places by section, and none that was not covered as met', () => {
    const sections = report.sections!;
    expect([...new Set(sections.map(({ requirement }) => requirement))]).toEqual(['ROUTE', 'DENSITY']);
    const route = sections.filter(({ requirement }) => requirement === 'ROUTE');
    expect(route.map(({ from, to, result }) => `${from} ${to} ${result}`)).toEqual([
      '3+250.0 3+260.0 met',
      '3+260.0 3+280.0 met',
      '3+300.0 3+320.0 not met',
      '3+320.0 3+340.0 not met',
    ]);
    const density = sections.filter(({ requirement }) => requirement === 'DENSITY').map(({ result }) => result);
    expect(density.slice(2)).toEqual(['not judged', 'not judged']);
  });

  it('is valid by the published schema of the report', () => {
    const schema = JSON.parse(readFileSync('specs/report.schema.json', 'utf8'));
    const validate = new Ajv2020({ strict: false }).compile(schema);
    expect(validate(JSON.parse(reportJson(report))), JSON.stringify(validate.errors?.slice(0, 3))).toBe(true);
  });
});
