import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { checks } from '../checks/index.js';
import { jsonSchemaOf } from '../report-shape/json-schema.js';
import { referenceLines } from '../report-shape/reference-page.js';
import { report } from '../report-shape/report.js';
import { fragments } from '../run/check-fragments.js';
import { schemaText } from '../spec/generate.js';
import { checkReference } from './check-reference.js';
import { epsgUnitLists } from './epsg-unit-lists.js';

/** A generated file. */
export interface PublishedFile {
  /** Path from the root of the project. */
  path: string;
  text: string;
}

const BEGIN = '<!-- checks:begin -->';
const END = '<!-- checks:end -->';

/** The generated files with their text: `npm run generate` writes them, and a test compares them. */
export function publishedFiles(root: string): PublishedFile[] {
  return [
    { path: 'specs/acceptance-spec.schema.json', text: schemaText(fragments()) },
    { path: 'specs/checks.md', text: referencePage() },
    { path: 'specs/report.schema.json', text: reportSchema() },
    { path: 'specs/report.md', text: reportPage() },
    { path: 'README.md', text: withTable(readFileSync(join(root, 'README.md'), 'utf8')) },
    { path: 'src/cloud/epsg-unit-lists.ts', text: epsgUnitLists(root) },
  ];
}

/** Writes the published files. */
export function publish(root: string): void {
  for (const { path, text } of publishedFiles(root)) writeFileSync(join(root, path), text);
}

function referencePage(): string {
  const intro = 'Made by `npm run generate`; the same text is printed by `cloudassay spec explain --checks`.';
  return `# The checks\n\n${intro}\n\n\`\`\`text\n${checkReference()}\`\`\`\n`;
}

function reportSchema(): string {
  const head = {
    $schema: 'https://json-schema.org/draft/2020-12/schema',
    $id: 'report.schema.json',
    title: 'cloudassay report, version 1',
  };
  return `${JSON.stringify(jsonSchemaOf(report, head), null, 2)}\n`;
}

function reportPage(): string {
  const intro = [
    '# report.json',
    '',
    'Made by `npm run generate` from the declaration in `src/report-shape`, as is the JSON Schema `report.schema.json` in this',
    'folder. The keys of every object are listed in the order in which they are written. Numbers are rounded to 1e-7; a number',
    'below 0.001 keeps four significant digits. A unit given as `see ...` is named by that key beside the value.',
    '',
  ];
  return `${[...intro, ...referenceLines(report, 'The report')].join('\n').trimEnd()}\n`;
}

/** The table of checks between its two marks. */
function withTable(readme: string): string {
  const begin = readme.indexOf(BEGIN);
  const end = readme.indexOf(END);
  if (begin < 0 || end < begin) throw new RangeError('README.md lacks the marks around the table of checks');
  const rows = checks.map(({ id, title, metrics }) => `| \`${id}\` | ${title} | ${Object.keys(metrics).join(', ')} |`);
  const table = ['| check | met when | figures in report.json |', '| --- | --- | --- |', ...rows].join('\n');
  return `${readme.slice(0, begin + BEGIN.length)}\n${table}\n${readme.slice(end)}`;
}
