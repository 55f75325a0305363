import { figuresWithLimits } from './figures.js';
import type { Report, RequirementResult } from './model.js';
import { statementConditions } from './statement.js';
import { adviceLines, stationWords, verdictSentence } from './wording.js';

/**
 * JUnit XML text for build servers, with one test case for each requirement. A mandatory requirement that is not met is a
 * failure; one that is undetermined is an error; one that does not apply is skipped. An advisory requirement passes, and its verdict
 * is in its output. Each file that could not be read is an error. A build therefore fails whenever the delivery is not accepted.
 * (The format has no standard; this is the common part that build servers read: testsuites, testsuite, testcase, failure,
 * error, skipped, system-out.)
 */
export function reportJUnit(report: Report): string {
  const cases = [
    ...report.requirements.map((requirement) => ({ ...outcome(requirement), requirement })),
    ...report.files
      .filter((file) => file.fault !== null)
      .map((file) => ({
        kind: 'error' as const,
        xml: testCase('files', `${file.file} can be read`, element('error', 'unreadable', file.fault ?? '', '')),
      })),
  ];
  const count = (kind: string) => cases.filter((one) => one.kind === kind).length;
  const totals = `tests="${cases.length}" failures="${count('failure')}" errors="${count('error')}" skipped="${count('skipped')}"`;
  return `<?xml version="1.0" encoding="UTF-8"?>
<testsuites name="${report.tool.name}" ${totals}>
  <testsuite name="${escapeXml(report.spec.title)}" ${totals}>
    <properties>
      <property name="verdict" value="${report.verdict}"/>
      <property name="version" value="${escapeXml(report.tool.version)}"/>
      <property name="spec-sha256" value="${escapeXml(report.spec.sha256)}"/>
    </properties>
${cases.map((one) => one.xml).join('\n')}
    <system-out>${escapeXml(verdictSentence(report))}</system-out>
  </testsuite>
</testsuites>
`;
}

/** The text for XML 1.0: five characters as entities, and characters that XML does not allow (section 2.2 of the recommendation) as U+FFFD. */
export function escapeXml(text: string): string {
  return (
    text
      // biome-ignore lint/suspicious/noControlCharactersInRegex: these are the characters XML forbids
      .replace(/[\u0000-\u0008\u000b\u000c\u000e-\u001f\ufffe\uffff]/g, '\ufffd')
      .replace(/[\ud800-\udbff](?![\udc00-\udfff])|(?<![\ud800-\udbff])[\udc00-\udfff]/g, '\ufffd')
      .replace(/&/g, '&amp;')
      .replace(/</g, '&lt;')
      .replace(/>/g, '&gt;')
      .replace(/"/g, '&quot;')
      .replace(/'/g, '&apos;')
      .replace(/[\t\n\r]/g, (character) => `&#${character.charCodeAt(0)};`)
  );
}

type Kind = 'passed' | 'failure' | 'error' | 'skipped';

function outcome(requirement: RequirementResult): { kind: Kind; xml: string } {
  const named = (inner: string) => testCase(requirement.check, `${requirement.id} ${requirement.title}`, inner);
  const detail = details(requirement);
  if (requirement.verdict === 'not-applicable') {
    return { kind: 'skipped', xml: named(`<skipped message="${escapeXml(requirement.summary)}"/>`) };
  }
  if (requirement.verdict !== 'pass' && requirement.level === 'advisory') {
    return {
      kind: 'passed',
      xml: named(
        `<system-out>${escapeXml(`advisory, ${requirement.verdict}: ${requirement.summary}\n${detail}`)}</system-out>`,
      ),
    };
  }
  if (requirement.verdict === 'fail')
    return { kind: 'failure', xml: named(element('failure', 'not-met', requirement.summary, detail)) };
  if (requirement.verdict === 'undetermined') {
    return { kind: 'error', xml: named(element('error', 'not-shown', requirement.summary, detail)) };
  }
  const words = [requirement.summary, ...statementLines(requirement)].join('\n');
  return { kind: 'passed', xml: named(`<system-out>${escapeXml(words)}</system-out>`) };
}

function details(requirement: RequirementResult): string {
  const figures = figuresWithLimits(requirement).map(
    (pair) =>
      `${pair.label}: ${pair.measuredText === '' ? 'required' : `${pair.measuredText}, limit`} ${pair.limitText}`,
  );
  const places = requirement.locations
    .slice(0, 10)
    .map(
      (place) =>
        `at ${place.x.toFixed(2)} ${place.y.toFixed(2)}${stationed(place)}${place.file === undefined ? '' : ` ${place.file}`}: ${place.note}`,
    );
  return [...figures, ...statementLines(requirement), ...adviceLines(requirement), ...places].join('\n');
}

function stationed(place: RequirementResult['locations'][number]): string {
  const words = stationWords(place);
  return words === null ? '' : ` (${words})`;
}

/** The accuracy statement, to be quoted, and the facts that it depends on. */
function statementLines({ statement }: RequirementResult): string[] {
  return statement ? [`"${statement.sentence}"`, ...statementConditions(statement)] : [];
}

function testCase(group: string, name: string, inner: string): string {
  return `    <testcase classname="${escapeXml(group)}" name="${escapeXml(name)}">
      ${inner}
    </testcase>`;
}

function element(tag: 'failure' | 'error', type: string, message: string, text: string): string {
  return `<${tag} type="${type}" message="${escapeXml(message)}">${escapeXml(text)}</${tag}>`;
}
