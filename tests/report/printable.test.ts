import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { main } from '../../src/cli/program.js';
import { REPORT_FORMATS } from '../../src/report/formats.js';
import type { Report } from '../../src/report/model.js';
import { printable, printableJson, withoutQueries } from '../../src/report/printable.js';
import { writeReport } from '../../src/report/write.js';
import { quayRoad } from './sample.js';

/*
 * What acts on a terminal: the control functions of ECMA-48 begin with ESC or one of the C1 controls; BEL rings. What changes
 * the order of the text around it: the explicit directional formatting characters of UAX #9.
 */
const ACTING = '\u001b[2J\u0007\u009b31m\u202e\u2066\u200f\u061c';
// biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is looked for
const RAW = /[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]/;

const streamsTo = (take: (text: string) => void) => ({
  out: take,
  err: take,
  errTerminal: {},
  outTerminal: {},
  env: {},
});

describe('text that acts on a terminal', () => {
  test('is replaced, and nothing else is', () => {
    expect(printable(`a\tb\n${ACTING}ü漢`)).toBe('a\tb\n?[2J??31m????ü漢');
    const value = { name: `a\n${ACTING}` };
    const json = printableJson(JSON.stringify(value, null, 2));
    expect(json).not.toMatch(RAW);
    expect(JSON.parse(json)).toEqual(value);
  });

  test('never reaches a report raw', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'printable-'));
    try {
      const formats = REPORT_FORMATS.filter((format) => format !== 'html');
      const paths = await writeReport(withNames(quayRoad(), ACTING), folder, formats);
      for (const path of paths) expect(readFileSync(path, 'utf8'), path).not.toMatch(RAW);
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  });

  test.each(['explain', 'validate'])('never leaves spec %s raw', async (command) => {
    const folder = mkdtempSync(join(tmpdir(), 'printable-'));
    const path = join(folder, `spec${ACTING}.json`);
    try {
      for (const check of ['density', `dens${ACTING}ity`]) {
        const requirements = [{ id: `D${ACTING}`, check, min: 1, zone: `z${ACTING}` }];
        writeFileSync(path, JSON.stringify({ spec: '1', title: `t${ACTING}`, requirements }));
        let text = '';
        await main(
          ['spec', command, path],
          streamsTo((more) => {
            text += more;
          }),
        );
        expect(text).not.toBe('');
        expect(text).not.toMatch(RAW);
      }
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  });

  test('never comes back from the command line', async () => {
    let text = '';
    await main(
      ['inspect', `none${ACTING}.las`, `--no${ACTING}`],
      streamsTo((more) => {
        text += more;
      }),
    );
    await main(
      ['inspect', `none${ACTING}.las`],
      streamsTo((more) => {
        text += more;
      }),
    );
    expect(text).toMatch(/no such file/);
    expect(text).not.toMatch(RAW);
  });
});

/** The report with the text in the names that come from outside. */
function withNames(report: Report, text: string): Report {
  report.spec.title += text;
  for (const file of report.files) file.file += text;
  for (const point of report.surveyPoints) point.id += text;
  for (const requirement of report.requirements) {
    requirement.id += text;
    requirement.zone = `zone${text}`;
    for (const location of requirement.locations) location.file = `file${text}`;
  }
  return report;
}

describe('an address with a key in its query', () => {
  const address = 'https://host.example/x.csv?key=SECRET&b=1';

  test('is shown without it, and the sentence around it stays', () => {
    expect(withoutQueries(`${address}: there is no such file (found ${address}). Why?`)).toBe(
      'https://host.example/x.csv: there is no such file (found https://host.example/x.csv). Why?',
    );
    expect(withoutQueries('What is a.las? See s3://b/c?versionId=7, or ask')).toBe(
      'What is a.las? See s3://b/c, or ask',
    );
  });

  test.each([
    ['check', 'a.las', '--spec', address],
    ['check', 'a.las', '--spec', 'named.json', '--points', address],
    ['check', address, '--spec', address],
    ['compare', address, address],
    ['spec', 'explain', address],
    ['inspect', 'a.las', '--unknown', address],
    ['inspect', `--${address}`],
  ])('is in no error without it: %s %s %s', async (...args) => {
    let err = '';
    const take = (text: string) => {
      err += text;
    };
    const code = await main(args, { ...streamsTo(() => {}), err: take });
    expect(code).toBeGreaterThan(0);
    expect(err).not.toContain('SECRET');
  });

  test('is shown whole where that is asked for', async () => {
    let err = '';
    const streams = streamsTo((text) => {
      err += text;
    });
    await main(['check', 'a.las', '--spec', address, '--show-queries'], streams);
    expect(err).toContain('SECRET');
  });
});
