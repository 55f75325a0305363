import { createHash } from 'node:crypto';
import { dataTable } from './html/html-table.js';
import { mapDataElements } from './html/map-data.js';
import { mapSection } from './html/map-section.js';
import { type Markup, markup, trusted } from './html/markup.js';
import { passSection } from './html/pass-section.js';
import { requirementDetails, requirementOverview } from './html/requirements.js';
import { routeSection } from './html/route-section.js';
import { STYLE } from './html/style.js';
import { surveySection } from './html/survey-section.js';
import { viewerScript } from './html/viewer-script.js';
import { reportJson } from './json.js';
import type { Report } from './model.js';
import { areaInWords, bytesInWords, coordinate, quantity } from './quantity.js';
import { className, countOf, deliveryWords, groupDigits, verdictSentence } from './wording.js';

const FILES_SHOWN = 5000;

/**
 * The report as the text of one HTML page that loads nothing: no fonts, no pictures, nothing from a network. Its content
 * security policy forbids all loading, and allows only our own style and script, identified by their hashes.
 * @param json the text of report.json, whose digest the page states
 */
export function reportHtml(report: Report, json = reportJson(report)): string {
  const chapters: [string, string, Markup][] = [
    ['requirements', 'Requirements', requirementOverview(report)],
    ['findings', 'Findings', findings(report)],
    ['map-title', 'Map', mapSection(report)],
    ['details', 'Requirements in detail', requirementDetails(report)],
    ['route-sections', 'Sections of the route', routeSection(report)],
    ['survey-points', 'Survey points', surveySection(report)],
    ['passes', 'Passes', passSection(report)],
    ['classes', 'Classes and returns', labels(report)],
    ['files', 'Files', files(report)],
  ];
  const there = chapters.filter(([, , content]) => content.html !== '');
  return page(
    `${deliveryWords(report.verdict).word}: ${report.spec.title}`,
    markup`<a class="skip" href="#requirements">To the requirements</a>
<main>
${banner(report)}
<nav aria-label="Chapters"><ul>${there.map(([id, title]) => markup`<li><a href="#${id}">${title}</a></li>`)}</ul></nav>
${there.map(
  ([id, title, content]) => markup`<h2 id="${id}">${title}</h2>
${content}
`,
)}
<section class="signoff" aria-label="Signature"><div>Name</div><div>Date</div><div>Signature</div></section>
${footer(report, json)}
</main>
${mapDataElements(report)}`,
    viewerScript(),
  );
}

/** The text of a whole page with this body and script, and the content security policy that forbids all loading. */
export function page(title: string, body: Markup, script: string): string {
  const policy = [
    "default-src 'none'",
    `style-src '${sourceHash(STYLE)}'`,
    `script-src '${sourceHash(script)}'`,
    "base-uri 'none'",
    "form-action 'none'",
  ].join('; ');
  return markup`<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${trusted(policy)}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="referrer" content="no-referrer">
<title>${title}</title>
<style>${trusted(STYLE)}</style>
</head>
<body>
${body}
<script>${trusted(script)}</script>
</body>
</html>
`.html;
}

/** Hash source of a content security policy: `sha256-` and the base64 digest of the UTF-8 text (W3C CSP Level 3, 2.3.1). */
function sourceHash(text: string): string {
  return `sha256-${createHash('sha256').update(text, 'utf8').digest('base64')}`;
}

function banner(report: Report): Markup {
  const { delivery, spec, tool } = report;
  const words = deliveryWords(report.verdict);
  const sentence = verdictSentence(report)
    .slice(words.word.length)
    .replace(/^[:.] ?/, '');
  return markup`<header><h1>${spec.title}: acceptance report</h1>
<div class="verdict ${words.tone}"><p class="word"><span aria-hidden="true">${words.shape}</span> ${words.word}</p>
${sentence !== '' && markup`<p class="why">${sentence.charAt(0).toUpperCase() + sentence.slice(1)}</p>`}
<dl class="facts">${deliveryFacts(report).map(([name, value]) => markup`<div><dt>${name}</dt><dd class="n">${value}</dd></div>`)}</dl>
<dl class="facts"><div><dt>Acceptance spec</dt><dd>${spec.title} (${spec.file})</dd></div><div><dt>Spec SHA-256</dt><dd class="hash" title="${spec.sha256}">${spec.sha256.slice(0, 16)}…</dd></div><div><dt>Checked by</dt><dd>${tool.name} ${tool.version}</dd></div>${delivery.unreadable > 0 && markup`<div><dt>Not fully read</dt><dd>${countOf(delivery.unreadable, 'file')}</dd></div>`}</dl>
<p class="command"><span class="note">To repeat the check:</span> <code>${tool.command}</code></p></div></header>`;
}

function deliveryFacts({ delivery, passes }: Report): [string, string][] {
  const { extent, captured, written, area } = delivery;
  const span = (axis: number) =>
    extent ? `${coordinate(extent[axis])} to ${coordinate(extent[axis + 3])} m` : 'no point was read';
  return [
    ['Tiles', `${countOf(delivery.files, 'file')}, ${bytesInWords(delivery.bytes)}`],
    ['Points', groupDigits(String(delivery.points))],
    ['Area with points', area === null ? 'none' : areaInWords(area)],
    ['Passes', `${passes.length} by ${delivery.passesBy}`],
    ['Capture period', captured === null ? 'no dated GPS time' : `${between(captured, minutes)} (GPS time)`],
    ['File creation date', written === null ? 'not stated' : between(written, (text) => text)],
    ['Horizontal system', delivery.crs.horizontal ?? 'not stated'],
    ['Vertical system', delivery.crs.vertical ?? 'not stated'],
    ['Unit', delivery.crs.unit ?? 'not stated'],
    ['Easting', span(0)],
    ['Northing', span(1)],
    ['Heights', span(2)],
  ];
}

function between({ from, to }: { from: string; to: string }, show: (text: string) => string): string {
  const [first, last] = [show(from), show(to)];
  if (first === last) return first;
  // Within one day the date is written once.
  const day = first.slice(0, 11);
  return day.length === 11 && last.startsWith(day) ? `${first} to ${last.slice(11)}` : `${first} to ${last}`;
}

function minutes(time: string): string {
  return time.slice(0, 16).replace('T', ' ');
}

function findings({ findings: found, files: all }: Report): Markup {
  if (found.length === 0) return markup``;
  const boxes = new Map(all.map(({ file, extent }) => [file, extent]));
  return dataTable(
    'Findings that belong to no single requirement',
    [{ title: 'Finding' }, { title: 'File' }, { title: 'Severity' }, { title: 'Code' }],
    found.map((finding) => [finding.text, finding.file, finding.severity, finding.code]),
    { places: found.map(({ file }) => placeOf(boxes.get(file ?? '') ?? null)) },
  );
}

function labels({ delivery }: Report): Markup {
  const { classes, returns, pulses } = delivery;
  const total = classes.reduce((sum, { points }) => sum + points, 0);
  if (total === 0) return markup``;
  const share = { title: 'Share', unit: 'share' };
  const points = { title: 'Points', unit: 'count' };
  return markup`<div class="pair-of-tables">${dataTable(
    'Points by class',
    [{ title: 'Class' }, { title: 'Meaning' }, points, share],
    classes.map((c) => [String(c.class), className(c.class), c.points, c.points / total]),
  )}${dataTable(
    'Points by return number',
    [{ title: 'Return' }, points, share],
    returns.map((r) => [String(r.number), r.points, r.points / total]),
  )}${dataTable(
    'Points by returns of their pulse',
    [{ title: 'Returns' }, points, share],
    pulses.map((p) => [String(p.returns), p.points, p.points / total]),
  )}</div>`;
}

function files(report: Report): Markup {
  if (report.files.length === 0) return markup``;
  const columns = [
    { title: 'File' },
    { title: 'Format' },
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
    file.fault === null ? readWords(file) : `✗ ${file.fault}`,
  ]);
  const places = report.files.map(({ extent }) => placeOf(extent));
  return dataTable('Files of the delivery', columns, rows, { most: FILES_SHOWN, places });
}

function readWords({ read, points }: Report['files'][number]): string {
  if (read === undefined) return 'complete';
  return `${countOf(read, 'point')} (${quantity(points === 0 ? 1 : read / points, 'share')})`;
}

/** The centre of a file, and its larger side as the distance to show around it, metres; null without an extent. */
function placeOf(extent: readonly number[] | null): { x: number; y: number; reach: number } | null {
  if (!extent) return null;
  const [west, south, , east, north] = extent;
  return { x: (west + east) / 2, y: (south + north) / 2, reach: Math.max(east - west, north - south, 1) };
}

function footer(report: Report, json: string): Markup {
  const digest = createHash('sha256').update(json).digest('hex');
  return markup`<footer>
<p>Made by ${report.tool.name} ${report.tool.version} from report.json, SHA-256 ${digest}.</p>
<p>Acceptance spec ${report.spec.file}, SHA-256 ${report.spec.sha256}.</p>
${report.inputs.map(
  ({ role, file, sha256 }) => markup`<p>File of ${role} ${file}, SHA-256 ${sha256}.</p>
`,
)}</footer>`;
}
