import { join, resolve } from 'node:path';
import { describe, expect, test } from 'vitest';
import { formatReportText } from '../../src/report/format-rules.js';
import { testFormatRules } from '../../src/run/format-rules.js';
import { realClouds } from '../real-clouds.js';

const formats = resolve('test-clouds/formats');
const options = { wkt: 'las', headerOnly: false, workers: 1 } as const;

describe('the sample scene in every version and format', () => {
  test('breaks no rule as LAS and LAZ, packed by the reference codec', async () => {
    const report = await testFormatRules([join(formats, 'las'), join(formats, 'laz')], options);
    expect(report.files.length).toBeGreaterThan(50);
    expect(report.files.filter(({ fault }) => fault !== null)).toEqual([]);
    expect(report.findings).toEqual([]);
    expect([report.verdict, report.errors, report.warnings]).toEqual(['pass', 0, 0]);
  });

  test("as COPC only with warnings, for what its README calls that writer's habits", async () => {
    const report = await testFormatRules([join(formats, 'copc')], options);
    expect([report.verdict, report.errors]).toEqual(['pass', 0]);
    // No generating software, no creation date, legacy counts beside formats 6 to 8, WKT without a final zero byte.
    const habits = ['LAS-CRS-06', 'LAS-HDR-08', 'LAS-HDR-10', 'LAS-HDR-11', 'LAS-HDR-37'];
    for (const { file } of report.files) {
      expect(
        report.findings
          .filter((f) => f.file === file)
          .map((f) => f.rule)
          .sort(),
      ).toEqual(habits);
    }
  });
});

test('for humans: file by file, two lines a finding, control characters shown as such', () => {
  const finding = {
    rule: 'LAS-HDR-14',
    severity: 'error',
    file: 'a.las',
    byte: 6,
    found: 'bit 4 clear',
    expected: 'bit 4 set',
    text: 'a text\u001b[31m in red',
    clause: 'somewhere',
  } as const;
  const files = [
    { file: 'a.las', fault: null },
    { file: 'b.las', fault: 'it ends early' },
  ];
  const text = formatReportText({ verdict: 'fail', errors: 1, warnings: 0, files, findings: [finding] });
  expect(text).toBe(
    [
      '',
      'a.las: 1 error, 0 warnings',
      '  error    LAS-HDR-14  byte 6: found bit 4 clear, expected bit 4 set',
      '           a text?[31m in red',
      '',
      'b.las: no rule broken',
      '  could not be read to the end: it ends early',
      '',
    ].join('\n'),
  );
});

// Small open samples made by many writers. They do not belong to the project: see tests/cloud/real.test.ts.
const real = realClouds('tests/run/format-rules.test.ts');

test.skipIf(!real)('real files: no chunk of a sound one is taken for damaged', async () => {
  const report = await testFormatRules([real!], options);
  expect(report.findings.filter((f) => f.rule === 'LAZ-19')).toEqual([]);
  expect(report.findings.filter((f) => f.rule === 'COPC-24')).toEqual([]);
  // Two headers were broken on purpose by their makers, as their names say.
  const faulty = report.files.filter(({ fault }) => fault !== null).map(({ file }) => file);
  expect(faulty).toEqual(['broken_coder.laz', 'broken_size.laz']);
  const wrong = new Set(report.findings.filter((f) => f.severity === 'error').map((f) => f.file));
  // Written by a converter without descriptors of wave packets.
  expect([...wrong].sort()).toEqual([
    'broken_coder.laz',
    'broken_size.laz',
    'pdrf10-1.4.laz',
    'pdrf4-1.3.laz',
    'pdrf9-1.5.las',
    'pdrf9-1.5.laz',
  ]);
});
