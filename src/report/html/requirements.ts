import { type FigurePair, figuresWithLimits, figuresWithoutLimits, limitWords } from '../figures.js';
import type { AccuracyStatement, Report, RequirementResult } from '../model.js';
import { quantity } from '../quantity.js';
import { statementConditions, statementSources } from '../statement.js';
import { countOf, requirementWords, type VerdictWords } from '../wording.js';
import { histogramChart, limitBar } from './charts.js';
import { dataTable } from './html-table.js';
import { type Markup, markup } from './markup.js';
import { residualChart } from './residuals.js';
import { colourOf, sectionCard } from './sections.js';
import { seriesChart } from './series.js';
import { STATION_COLUMNS, stationCells } from './station-columns.js';

const LOCATIONS_OPEN = 8;
const LOCATIONS_SHOWN = 200;
/** Distance that the map shows around a place, metres. */
const LOCATION_REACH = 12;

/** The table of all requirements: verdict, what was measured, and a bar against the limit. */
export function requirementOverview(report: Report): Markup {
  const rows = report.requirements.map((requirement, i) => {
    const words = requirementWords(requirement);
    const pairs = requirement.verdict === 'not-applicable' ? [] : figuresWithLimits(requirement).slice(0, 3);
    const [hint] = [...requirement.causes.map((cause) => cause.text), ...requirement.advice];
    return markup`<tr><td>${chip(words)}</td>
<th scope="row"><a href="#requirement-${i + 1}"><span class="id">${requirement.id}</span><br>${requirement.title}</a>${requirement.zone !== null && markup` <span class="of">zone ${requirement.zone}</span>`}${requirement.level === 'advisory' && markup` <span class="of">advisory</span>`}</th>
<td>${pairs.length === 0 ? markup`<span class="none">${requirement.summary}</span>` : pairs.map((pair) => markup`<div class="measure"><div class="n">${pairText(pair)}</div>${limitBar(pair, words.tone)}</div>`)}${isUnsettled(requirement) && hint !== undefined && markup`<p class="hint n"><span aria-hidden="true">→</span> ${hint}</p>`}</td></tr>
`;
  });
  return markup`<div class="scroll" tabindex="0" role="region" aria-label="Requirements"><table class="overview">
<caption>${countOf(report.requirements.length, 'requirement')} of the acceptance spec</caption>
<thead><tr><th scope="col">Verdict</th><th scope="col">Requirement</th><th scope="col">Measured against the limit</th></tr></thead>
<tbody>${rows}</tbody></table></div>
<p class="note">A bar shows the size of the measured figure. The vertical line is the limit; the hatched strip below marks the side on which the figure is good.</p>`;
}

/** Everything that the report has of each requirement; the evidence of requirements that are met is folded. */
export function requirementDetails(report: Report): Markup {
  return markup`${report.requirements.map((requirement, i) => article(requirement, i + 1, report))}`;
}

/** Shape and word of a verdict. */
function chip(words: VerdictWords): Markup {
  return markup`<span class="chip ${words.tone}"><span aria-hidden="true">${words.shape}</span> ${words.word}</span>`;
}

function pairText(pair: FigurePair): Markup {
  return pair.measured === undefined
    ? markup`${pair.label} ${pair.limitText}<span class="of">required</span>`
    : markup`${pair.label} <strong>${pair.measuredText}</strong><span class="of">${limitWords(pair)}</span>`;
}

function isUnsettled({ verdict }: RequirementResult): boolean {
  return verdict === 'fail' || verdict === 'undetermined';
}

function article(requirement: RequirementResult, number: number, report: Report): Markup {
  const words = requirementWords(requirement);
  const crossSections = requirement.sections.filter((section) => section.surveyPoint === null);
  const evidence = markup`${figureTable(requirement)}${requirement.residuals.map(residualChart)}${requirement.series.map((series) => seriesChart(series, (name) => colourOf(report, name)))}${requirement.histograms.map(histogramChart)}${locationTable(requirement)}${crossSections.length > 0 && markup`<h4>Cross-sections</h4><div class="close-ups">${crossSections.map((section) => sectionCard(section, report, requirement))}</div>`}${requirement.tables.map((table) => dataTable(table.title, table.columns, table.rows, { owner: requirement.id }))}`;
  return markup`<article id="requirement-${number}" class="${words.tone}">
<div class="head">${chip(words)}<h3>${requirement.title}</h3><span class="id">${requirement.id}</span></div>
<p class="summary n">${requirement.summary}</p>
<p class="reason">${requirement.why}</p>
${adviceBlock(requirement)}
${requirement.statement && statementBlock(requirement.statement)}
<p class="note">${conditions(requirement)}</p>
${isUnsettled(requirement) || evidence.html === '' ? evidence : markup`<details><summary>Figures and evidence</summary>${evidence}</details>`}
</article>
`;
}

/** Likely causes, then what to do. */
function adviceBlock({ causes, advice }: RequirementResult): Markup {
  if (causes.length + advice.length === 0) return markup``;
  const list = (title: string, lines: readonly Markup[]) =>
    lines.length > 0 && markup`<h4>${title}</h4><ul>${lines.map((line) => markup`<li class="n">${line}</li>`)}</ul>`;
  const causeLines = causes.map(({ title, text }) => markup`<strong>${title}</strong>: ${text}`);
  return markup`<div class="advice">${list(causes.length === 1 ? 'Likely cause' : 'Likely causes', causeLines)}${list(
    'What to do',
    advice.map((line) => markup`${line}`),
  )}</div>`;
}

/** The accuracy statement, what it depends on, and how far the figures of the standard can be trusted. */
function statementBlock(statement: AccuracyStatement): Markup {
  // Departures from the standard are in the sentence itself.
  const lines = [...statementConditions(statement), ...statement.remarks];
  return markup`<section class="statement"><h4>Accuracy statement, ${statement.title}</h4><blockquote class="n">${statement.sentence}</blockquote>
<ul>${lines.map((line) => markup`<li class="n">${line}</li>`)}</ul>
<details><summary>Sources of the figures and the wording</summary><ul>${statementSources(statement).map((line) => markup`<li>${line}</li>`)}</ul></details></section>`;
}

function conditions(requirement: RequirementResult): string {
  const parts = [`Check: ${requirement.check}`, requirement.level];
  if (requirement.zone !== null) parts.push(`inside the zone ${requirement.zone}`);
  if (requirement.decision === 'guarded')
    parts.push('guarded: the bound of the confidence interval is compared with the limit');
  return `${parts.join('; ')}.`;
}

/** Figures with a limit as a table; figures without one as a short list. */
function figureTable(requirement: RequirementResult): Markup {
  const judged = figuresWithLimits(requirement);
  const others = figuresWithoutLimits(requirement);
  const rows = judged.map((pair) => [
    pair.label,
    { text: pair.measuredText === '' ? '-' : pair.measuredText, sort: pair.measured ?? null },
    { text: limitWords(pair), sort: pair.limit ?? null },
  ]);
  return markup`${rows.length > 0 && dataTable('Measured against a limit', [{ title: 'Figure' }, { title: 'Measured' }, { title: 'Limit' }], rows, { owner: requirement.id })}
${others.length > 0 && markup`<dl class="facts figures">${others.map((pair) => markup`<div><dt>${pair.label}</dt><dd class="n">${pair.measuredText}</dd></div>`)}</dl>`}`;
}

function locationTable(requirement: RequirementResult): Markup {
  const locations = requirement.locations;
  if (locations.length === 0) return markup``;
  const known = (key: 'file' | 'pass' | 'z' | 'stationLabel') =>
    locations.some((location) => location[key] !== undefined);
  const has = { station: known('stationLabel'), z: known('z'), file: known('file'), pass: known('pass') };
  const columns = [
    { title: 'Finding' },
    { title: 'Value' },
    ...(has.station ? STATION_COLUMNS : []),
    { title: 'Easting', coordinate: 2 },
    { title: 'Northing', coordinate: 2 },
    ...(has.z ? [{ title: 'Height', coordinate: 3 }] : []),
    ...(has.file ? [{ title: 'File' }] : []),
    ...(has.pass ? [{ title: 'Pass' }] : []),
  ];
  const rows = locations.map((location) => [
    location.note,
    { text: quantity(location.value, location.unit), sort: location.value },
    ...(has.station ? stationCells(location) : []),
    location.x,
    location.y,
    ...(has.z ? [location.z] : []),
    ...(has.file ? [location.file] : []),
    ...(has.pass ? [location.pass] : []),
  ]);
  const places = locations.map(({ x, y }) => ({ x, y, reach: LOCATION_REACH }));
  const owner = requirement.id;
  const first = dataTable('Locations', columns, rows.slice(0, LOCATIONS_OPEN), { places, owner });
  const rest = rows.slice(LOCATIONS_OPEN);
  if (rest.length === 0) return first;
  return markup`${first}<details class="more"><summary>${countOf(rest.length, 'more location')}</summary>${dataTable('Locations, continued', columns, rest, { most: LOCATIONS_SHOWN, places: places.slice(LOCATIONS_OPEN), owner })}</details>`;
}
