import { parse } from 'csv-parse/sync';
import { describe, expect, test } from 'vitest';
import { csv, csvFiles } from '../../src/report/csv.js';
import { reportGeoJson } from '../../src/report/geojson.js';
import { escapeXml, reportJUnit } from '../../src/report/junit.js';
import { plain, reportMarkdown } from '../../src/report/markdown.js';
import { reportQuality } from '../../src/report/quality-json.js';
import { everyElement, readMarkup } from './markup-reader.js';
import { acceptedQuayRoad, HOSTILE, quayRoad } from './sample.js';

describe('JUnit XML', () => {
  const report = quayRoad();
  const document = readMarkup(reportJUnit(report), 'xml');
  const cases = everyElement(document).filter((element) => element.tag === 'testcase');
  const kindOf = (id: string) => cases.find((one) => one.attributes.name.startsWith(`${id} `))?.children[0].tag;

  test('one case a requirement, and one for each file that could not be read', () => {
    expect(cases).toHaveLength(report.requirements.length + 1);
    expect(['ACC-V', 'REL-1', 'DEN-1', 'VOID-1', 'PREC-1', 'DUP-1', 'TRJ-1'].map(kindOf)).toEqual([
      'system-out',
      'failure',
      'failure',
      'error',
      'system-out',
      'system-out',
      'skipped',
    ]);
  });

  test('totals are the counts of what is inside', () => {
    const count = (tag: string) => String(everyElement(document).filter((element) => element.tag === tag).length);
    const totals = {
      tests: count('testcase'),
      failures: count('failure'),
      errors: count('error'),
      skipped: count('skipped'),
    };
    expect(document.attributes).toMatchObject(totals);
    expect(document.children[0].attributes).toMatchObject(totals);
    expect(totals).toEqual({ tests: '8', failures: '2', errors: '2', skipped: '1' });
  });

  test('an advisory requirement not met passes and says so', () => {
    const advisory = cases.find((one) => one.attributes.name.startsWith('PREC-1'));
    expect(advisory?.text).toContain('advisory, fail: Noise of 6.4 mm');
    expect(advisory?.text).toContain('Ask for the scanner service record.');
  });

  test('likely causes stand with the figures that led to a failure', () => {
    const failure = cases.find((one) => one.attributes.name.startsWith('REL-1'));
    expect(failure?.text).toContain('Likely cause: trajectories not adjusted relative to each other.');
  });

  test('hostile text comes back as it went in; what XML 1.0 section 2.2 forbids does not', () => {
    expect(document.text).toContain(HOSTILE.file);
    const all = `<a>"b"&'c'\t\n${HOSTILE.escape}\ud800 \u{1f30a}`;
    const read = readMarkup(`<x y="${escapeXml(all)}">${escapeXml(all)}</x>`, 'xml');
    const expected = all
      .replaceAll('\u001b', '\ufffd')
      .replaceAll('\u0007', '\ufffd')
      .replace(/\ud800(?![\udc00-\udfff])/, '\ufffd');
    expect(read.text).toBe(expected);
    expect(read.attributes.y).toBe(expected);
  });

  test('an accepted delivery has neither failure nor error', () => {
    expect(readMarkup(reportJUnit(acceptedQuayRoad()), 'xml').attributes).toMatchObject({ failures: '0', errors: '0' });
  });
});

describe('CSV (RFC 4180)', () => {
  const report = quayRoad();
  const tables = Object.fromEntries(
    csvFiles(report).map(({ name, text }) => [
      name,
      parse(text, { columns: true, record_delimiter: '\r\n' }) as Record<string, string>[],
    ]),
  );

  test('files come back as they went in', () => {
    expect(
      tables['files.csv'].map((row) => [row.file, Number(row.bytes), row.packing || null, row.fault || null]),
    ).toEqual(report.files.map((f) => [f.file, f.bytes, f.packing, f.fault]));
  });

  test('survey points: one line for the point, one for each pass', () => {
    const whole = tables['survey-points.csv'].filter((row) => row.pass === '');
    expect(whole.map((row) => row.id)).toEqual(report.surveyPoints.map((p) => p.id));
    whole.forEach((row, i) => {
      const dz = report.surveyPoints[i].dz;
      if (dz === null) expect(row.dz).toBe('');
      else expect(Number(row.dz)).toBeCloseTo(dz, 6);
    });
    expect(tables['survey-points.csv']).toHaveLength(report.surveyPoints.reduce((n, p) => n + 1 + p.perPass.length, 0));
  });

  test('an axis that is not observable is an empty field, and a column says so', () => {
    const row = tables['pass-pairs.csv'][1];
    expect([row.shift_x, row.observable_x, row.shift_y, row.observable_y]).toEqual(['', 'false', '0.0031', 'true']);
  });

  test('requirements: a line for each limit, one where there is none', () => {
    expect(
      tables['requirements.csv']
        .filter((row) => row.id === 'REL-1')
        .map((row) => [row.metric, row.measured, row.limit, row.unit]),
    ).toEqual([
      ['rmsDz', '0.0183', '0.016', 'm'],
      ['maxDz', '0.0412', '0.032', 'm'],
      ['shift', '0.0241', '0.015', 'm'],
    ]);
    expect(tables['requirements.csv'].filter((row) => row.id === 'TRJ-1')).toHaveLength(1);
    expect(tables['requirements.csv'].find((row) => row.id === 'REL-1')!.advice).toContain(
      'Likely cause: trajectories',
    );
    expect(tables['locations.csv']).toHaveLength(report.requirements.reduce((n, r) => n + r.locations.length, 0));
  });

  test('what the page draws is there as numbers: figures, residuals, histograms, series, evidence, classes, returns', () => {
    const all = report.requirements;
    const sum = (of: (r: (typeof all)[number]) => number) => all.reduce((n, r) => n + of(r), 0);
    expect(tables['residuals.csv']).toHaveLength(sum((r) => r.residuals.flatMap((one) => one.items).length));
    expect(tables['histograms.csv']).toHaveLength(sum((r) => r.histograms.flatMap((one) => one.counts).length));
    expect(tables['series.csv']).toHaveLength(sum((r) => r.series.flatMap((s) => s.lines.flatMap((l) => l.x)).length));
    expect(tables['series.csv'].filter((row) => row.value === '')).toHaveLength(1);
    const figures = new Set(tables['figures.csv'].map((row) => `${row.requirement} ${row.metric}`));
    for (const r of all) for (const name of Object.keys(r.measured)) expect(figures).toContain(`${r.id} ${name}`);
    expect(tables['figures.csv'].find((row) => row.metric === 'rmse')).toMatchObject({
      measured: '0.0142',
      limit: '0.02',
      sense: 'at-most',
      unit: 'm',
    });
    expect(tables['evidence-2-1.csv'].map((row) => row['rms (m)'])).toEqual(['0.0183', '0.0217', '']);
    expect(tables['classes.csv'][0]).toEqual({ class: '2', meaning: 'ground', points: '80112400' });
    expect(tables['returns.csv'].map((row) => row.kind)).toEqual([
      'return number',
      'return number',
      'returns of the pulse',
      'returns of the pulse',
    ]);
    expect(tables['passes.csv']).toHaveLength(report.passes.length);
  });

  test('nothing that a spreadsheet would run as a formula', () => {
    expect(tables['findings.csv'][1].file).toBe(`'${HOSTILE.formula}`);
    const text = csv(['a'], [['=1+1'], ['+49'], ['-5'], ['-5+x'], ['@x'], [-5]]);
    expect(text).toBe("a\r\n'=1+1\r\n+49\r\n-5\r\n'-5+x\r\n'@x\r\n-5\r\n");
  });

  test('quotes, commas and line breaks', () => {
    const odd = ['a"b', 'c,d', 'e\r\nf', ' g ', ''];
    const [, row] = parse(csv(['1', '2', '3', '4', '5'], [odd]), { record_delimiter: '\r\n' });
    expect(row).toEqual(odd);
  });
});

describe('GeoJSON', () => {
  const report = quayRoad();
  type Feature = {
    type: string;
    geometry: { type: string; coordinates: unknown };
    properties: Record<string, unknown>;
  };

  test("without a transform: the cloud's own coordinates, and the system named in the older way", () => {
    const read = JSON.parse(reportGeoJson(report, null));
    expect(read.crs).toEqual({ type: 'name', properties: { name: 'urn:ogc:def:crs:EPSG::25832' } });
    expect(read.features[0].geometry).toEqual({ type: 'Point', coordinates: [565262.25, 5934031.75] });
    expect(read.features[0].properties).toMatchObject({
      requirement: 'REL-1',
      verdict: 'fail',
      value: 0.0412,
      unit: 'm',
      file: HOSTILE.file,
    });
    expect(
      JSON.parse(
        reportGeoJson(
          {
            ...report,
            delivery: {
              ...report.delivery,
              crs: { horizontal: HOSTILE.wkt, vertical: null, unit: null, metresPerUnit: null, wkt: null },
            },
          },
          null,
        ),
      ).crs,
    ).toBeUndefined();
  });

  test('with a transform: longitude and latitude, no crs member (RFC 7946 section 4)', () => {
    const read = JSON.parse(
      reportGeoJson(report, (x, y) => [10 + (x - 565000) / 65000, 53.5 + (y - 5934000) / 111000]),
    );
    expect('crs' in read).toBe(false);
    for (const feature of read.features as Feature[]) {
      const [lon, lat] = (feature.geometry.coordinates as unknown[]).flat(3) as number[];
      expect(Math.abs(lon - 10)).toBeLessThan(1);
      expect(Math.abs(lat - 53.5)).toBeLessThan(1);
    }
  });

  test('every place, point and readable tile is there; rings are closed and counter-clockwise (RFC 7946 section 3.1.6)', () => {
    const features = JSON.parse(reportGeoJson(report, null)).features as Feature[];
    const count = (kind: string) => features.filter((f) => f.properties.kind === kind).length;
    expect([count('location'), count('survey-point'), count('file'), count('zone')]).toEqual([61, 36, 13, 1]);
    for (const { geometry } of features.filter((f) => f.properties.kind === 'file')) {
      const [ring] = geometry.coordinates as [number, number][][];
      expect(ring[0]).toEqual(ring[ring.length - 1]);
      let twiceArea = 0;
      for (let i = 1; i < ring.length; i++) twiceArea += ring[i - 1][0] * ring[i][1] - ring[i][0] * ring[i - 1][1];
      expect(twiceArea).toBeGreaterThan(0);
    }
  });
});

describe('GeoJSON of zones', () => {
  const square = (x: number, y: number, side: number) => [x, y, x, y + side, x + side, y + side, x + side, y, x, y];

  test('outer rings turn counter-clockwise, holes clockwise, however they were handed in (RFC 7946 section 3.1.6)', () => {
    const zones = [{ name: 'z', polygons: [{ outer: square(0, 0, 10), holes: [square(2, 2, 3)] }] }];
    const read = JSON.parse(reportGeoJson({ ...quayRoad(), zones }, null));
    type ZoneFeature = {
      properties: { kind: string };
      geometry: { type: string; coordinates: [number, number][][][] };
    };
    const [zone] = (read.features as ZoneFeature[]).filter((f) => f.properties.kind === 'zone');
    expect(zone.geometry.type).toBe('MultiPolygon');
    const [outer, hole] = zone.geometry.coordinates[0];
    const twiceArea = (ring: [number, number][]) =>
      ring.slice(1).reduce((sum, [x, y], i) => sum + ring[i][0] * y - x * ring[i][1], 0);
    expect(twiceArea(outer)).toBe(200);
    expect(twiceArea(hole)).toBe(-18);
  });
});

describe('quality elements (names of classes as in the schema of ISO 19157, namespace mdq)', () => {
  const report = quayRoad();
  const list = JSON.parse(reportQuality(report));
  type Result = { type: string; pass?: boolean | null; valueType?: string; value?: number; valueUnit?: string };
  const elementOf = (id: string) =>
    list.elements.find((e: { identifier: string }) => e.identifier === id) as {
      element: string;
      scope: object | null;
      evaluationMethod: { type: string };
      results: Result[];
    };

  test('one element a requirement that applies, with a conformance result that says what the verdict says', () => {
    const judged = report.requirements.filter((r) => r.verdict !== 'not-applicable');
    expect(list.elements).toHaveLength(judged.length);
    for (const { id, verdict } of judged) {
      const conformance = elementOf(id).results.filter((r) => r.type === 'DQ_ConformanceResult');
      expect(conformance.map((r) => r.pass)).toEqual([verdict === 'pass' ? true : verdict === 'fail' ? false : null]);
    }
    expect(list.conforms).toBe(false);
    expect(JSON.parse(reportQuality(acceptedQuayRoad())).conforms).toBe(true);
  });

  test('figures are quantitative results with their unit; survey points are an outside reference', () => {
    const accuracy = elementOf('ACC-V');
    expect(accuracy.results).toContainEqual({
      type: 'DQ_QuantitativeResult',
      valueType: 'rmse',
      value: 0.0142,
      valueUnit: 'm',
    });
    expect(accuracy.evaluationMethod.type).toBe('directExternal');
    expect(elementOf('REL-1')).toMatchObject({
      element: 'DQ_RelativeInternalPositionalAccuracy',
      evaluationMethod: { type: 'directInternal' },
    });
    expect(elementOf('DEN-1').scope).toEqual({ level: 'zone', description: 'carriageway' });
  });
});

describe('Markdown', () => {
  const text = reportMarkdown(quayRoad());

  test('verdict, table, advice, files', () => {
    expect(text.startsWith('# ✗ Rejected: Quay road as-built capture\n\nRejected: 2 of 5')).toBe(true);
    expect(text).toContain(
      '| ✗ not met | DEN-1 Density is below the minimum | share of cells 97.996 %<br>density of a cell | 98.000 %<br>400.0 points/m² |',
    );
    expect(text).toContain('- Copy the tile again from the source');
    expect(text).toContain(
      '- Likely cause: trajectories not adjusted relative to each other. source 12 lies +15.1 mm in z',
    );
    expect(text).toContain('quay\\_565200\\_5934050.laz: the file ends inside a chunk');
  });

  test('every row of the table has four cells', () => {
    const rows = text.split('\n').filter((line) => line.startsWith('|'));
    expect(rows).toHaveLength(2 + quayRoad().requirements.length);
    for (const row of rows) expect(row.match(/(?<!\\)\|/g)).toHaveLength(5);
  });

  test('hostile text stays text (CommonMark 2.4 backslash escapes, 2.5 entities)', () => {
    expect(plain(HOSTILE.pipe)).toBe('a\\|b\\`c\\`\\[x\\](javascript:alert(3))');
    expect(text).not.toContain('<script');
    expect(plain('one\n\n# two')).toBe('one \\# two');
    expect(plain('@team http://x.invalid')).toBe('&#64;team http:&#47;&#47;x.invalid');
  });
});
