import { createHash } from 'node:crypto';
import { type Markup, markup, trusted } from './html/markup.js';
import { passSection } from './html/passes.js';
import { planFigure } from './html/plan.js';
import { requirementDetails, requirementOverview } from './html/requirements.js';
import { SCRIPT } from './html/script.js';
import { STYLE } from './html/style.js';
import { surveySection } from './html/survey.js';
import { dataTable } from './html/table.js';
import { reportJson } from './json.js';
import type { Report } from './model.js';
import { bytesInWords, coordinate } from './quantity.js';
import { countOf, deliveryWords, groupDigits, verdictSentence } from './words.js';

/**
 * The report as one HTML page that needs nothing else: no network, no fonts, no pictures. Its content security policy
 * lets nothing load and lets only our own style and script act, known by their hashes.
 */
export function reportHtml(report: Report): string {
  const policy = [
    "default-src 'none'",
    `style-src '${sourceHash(STYLE)}'`,
    `script-src '${sourceHash(SCRIPT)}'`,
    "base-uri 'none'",
    "form-action 'none'",
  ].join('; ');
  const page = markup`<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${trusted(policy)}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="referrer" content="no-referrer">
<title>${deliveryWords(report.verdict).word}: ${report.spec.title}</title>
<style>${trusted(STYLE)}</style>
</head>
<body>
<a class="skip" href="#requirements">To the requirements</a>
<main>
${banner(report)}
<h2 id="requirements">Requirements</h2>
${requirementOverview(report)}
${findings(report)}
${planFigure(report)}
<h2 id="details">Each requirement in full</h2>
${requirementDetails(report)}
${surveySection(report)}
${passSection(report)}
${files(report)}
<section class="signoff" aria-label="Signature"><div>Name</div><div>Date</div><div>Signature</div></section>
<footer>
<p>Made by ${report.tool.name} ${report.tool.version} from report.json, SHA-256 ${createHash('sha256').update(reportJson(report)).digest('hex')}.</p>
<p>Acceptance spec ${report.spec.file}, SHA-256 ${report.spec.sha256}.</p>
</footer>
</main>
<script>${trusted(SCRIPT)}</script>
</body>
</html>
`;
  return page.html;
}

/** Hash source of a content security policy: `sha256-` and the base64 digest of the UTF-8 text (W3C CSP Level 3, 2.3.1). */
export function sourceHash(text: string): string {
  return `sha256-${createHash('sha256').update(text, 'utf8').digest('base64')}`;
}

function banner(report: Report): Markup {
  const { delivery, spec } = report;
  const words = deliveryWords(report.verdict);
  const extent = delivery.extent;
  const facts: [string, string][] = [
    ['Acceptance spec', spec.title],
    ['Delivery', `${countOf(delivery.files, 'file')}, ${bytesInWords(delivery.bytes)}`],
    ['Points', groupDigits(String(delivery.points))],
    ['Passes', `${report.passes.length} by ${delivery.passesBy}`],
    ['Horizontal system', delivery.crs.horizontal ?? 'not stated'],
    ['Vertical system', delivery.crs.vertical ?? 'not stated'],
    ['Unit', delivery.crs.unit ?? 'not stated'],
    ['Extent x', extent ? `${coordinate(extent[0])} to ${coordinate(extent[3])} m` : 'no point was read'],
    ['Extent y', extent ? `${coordinate(extent[1])} to ${coordinate(extent[4])} m` : 'no point was read'],
    ['Heights', extent ? `${coordinate(extent[2])} to ${coordinate(extent[5])} m` : 'no point was read'],
  ];
  const sentence = verdictSentence(report)
    .slice(words.word.length)
    .replace(/^[:.] ?/, '');
  return markup`<header><h1>${spec.title}: acceptance report</h1>
<div class="verdict ${words.tone}"><p class="word"><span aria-hidden="true">${words.shape}</span> ${words.word}</p>
${sentence !== '' && markup`<p class="why">${sentence.charAt(0).toUpperCase() + sentence.slice(1)}</p>`}
<dl class="facts">${facts.map(([name, value]) => markup`<div><dt>${name}</dt><dd>${value}</dd></div>`)}</dl></div></header>`;
}

function findings(report: Report): Markup {
  if (report.findings.length === 0) return markup``;
  return markup`<h2 id="findings">Findings</h2>
${dataTable(
  'What belongs to no single requirement',
  [{ title: 'Finding' }, { title: 'File' }, { title: 'Severity' }, { title: 'Code' }],
  report.findings.map((finding) => [finding.text, finding.file, finding.severity, finding.code]),
)}`;
}

function files(report: Report): Markup {
  if (report.files.length === 0) return markup``;
  const columns = [
    { title: 'File' },
    { title: 'Packing' },
    { title: 'LAS version' },
    { title: 'Point format' },
    { title: 'Points', unit: 'count' },
    { title: 'Size' },
    { title: 'Read' },
  ];
  const rows = report.files.map((file) => [
    file.file,
    file.packing,
    file.version,
    file.pointFormat === null ? null : String(file.pointFormat),
    file.points,
    { text: bytesInWords(file.bytes), sort: file.bytes },
    file.fault === null ? 'to the end' : `✗ ${file.fault}`,
  ]);
  return markup`<h2 id="files">Files</h2>
${dataTable('Files of the delivery', columns, rows, 2000)}`;
}
