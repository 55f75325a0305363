import type { FileResult, Report, RequirementResult } from './model.js';

/** How a verdict is said and drawn: a word and a shape, so that colour never carries the meaning alone. */
export interface VerdictWords {
  word: string;
  shape: string;
  /** Class of tone, the same in every output that has colours. */
  tone: 'good' | 'bad' | 'open' | 'advisory' | 'quiet';
}

const DELIVERY_WORDS: Record<Report['verdict'], VerdictWords> = {
  accepted: { word: 'Accepted', shape: '✓', tone: 'good' },
  rejected: { word: 'Rejected', shape: '✗', tone: 'bad' },
  undetermined: { word: 'Undetermined', shape: '?', tone: 'open' },
};

/** Word and shape of the verdict on the whole delivery. */
export function deliveryWords(verdict: Report['verdict']): VerdictWords {
  return DELIVERY_WORDS[verdict];
}

/** Word and shape of one requirement's verdict; an advisory requirement that is not met is said to be advisory. */
export function requirementWords(requirement: Pick<RequirementResult, 'verdict' | 'level'>): VerdictWords {
  switch (requirement.verdict) {
    case 'pass':
      return { word: 'met', shape: '✓', tone: 'good' };
    case 'fail':
      return requirement.level === 'advisory'
        ? { word: 'advisory, not met', shape: '!', tone: 'advisory' }
        : { word: 'not met', shape: '✗', tone: 'bad' };
    case 'undetermined':
      return { word: 'undetermined', shape: '?', tone: 'open' };
    case 'not-applicable':
      return { word: 'not applicable', shape: '-', tone: 'quiet' };
  }
}

/** Exit code that goes with a verdict: 0 accepted, 1 rejected, 3 could not be fully tested. */
export function exitCodeOf(verdict: Report['verdict']): 0 | 1 | 3 {
  return verdict === 'accepted' ? 0 : verdict === 'rejected' ? 1 : 3;
}

/** The verdict on the delivery in one sentence, with the counts that carry it. */
export function verdictSentence(report: Report): string {
  const mandatory = report.requirements.filter((r) => r.level === 'mandatory' && r.verdict !== 'not-applicable');
  const failed = mandatory.filter((r) => r.verdict === 'fail').length;
  const open = mandatory.filter((r) => r.verdict === 'undetermined').length;
  const advisory = report.requirements.filter((r) => r.level === 'advisory' && r.verdict === 'fail').length;
  const reasons: string[] = [];
  if (failed > 0) reasons.push(`${failed} of ${countOf(mandatory.length, 'mandatory requirement')} not met`);
  if (open > 0) reasons.push(`${countOf(open, 'mandatory requirement')} undetermined`);
  if (report.delivery.unreadable > 0)
    reasons.push(`${countOf(report.delivery.unreadable, 'file')} could not be fully read`);
  const contradiction = report.findings.find(({ code }) => code === 'height-unit' || code === 'gps-time-mixed');
  if (contradiction) reasons.push(`files contradict each other (finding ${contradiction.code})`);
  if (reasons.length === 0 && report.verdict === 'accepted') {
    reasons.push(
      `the delivery meets ${mandatory.length === 1 ? 'its mandatory requirement' : `all ${mandatory.length} mandatory requirements that apply`}`,
    );
  }
  if (advisory > 0)
    reasons.push(`${countOf(advisory, 'advisory requirement')} not met, which does not change the verdict`);
  const word = deliveryWords(report.verdict).word;
  return reasons.length === 0 ? `${word}.` : `${word}: ${reasons.join('; ')}.`;
}

/** `1 file`, `2 files`; the plural is given where adding an s is not enough. */
export function countOf(count: number, singular: string, plural = `${singular}s`): string {
  return `${groupDigits(String(count))} ${count === 1 ? singular : plural}`;
}

/** Thousands set apart by commas: `1234567` becomes `1,234,567`. Takes plain decimal notation. */
export function groupDigits(digits: string): string {
  const [whole, fraction] = digits.split('.');
  const grouped = whole.replace(/\B(?=(\d{3})+$)/g, ',');
  return fraction === undefined ? grouped : `${grouped}.${fraction}`;
}

/** Names of the point classes of the LAS specification 1.4 (R15, table 17). */
const CLASS_NAMES = [
  'never classified',
  'unclassified',
  'ground',
  'low vegetation',
  'medium vegetation',
  'high vegetation',
  'building',
  'low point (noise)',
  'reserved (model key point in formats 0 to 5)',
  'water',
  'rail',
  'road surface',
  'reserved (overlap in formats 0 to 5)',
  'wire, guard (shield)',
  'wire, conductor (phase)',
  'transmission tower',
  'wire-structure connector',
  'bridge deck',
  'high noise',
  'overhead structure',
  'ignored ground',
  'snow',
  'temporal exclusion',
];

/** What a class code means: as the LAS specification names it, reserved up to 63, the user's own from 64. */
export function className(code: number): string {
  return CLASS_NAMES[code] ?? (code < 64 ? 'reserved' : 'defined by the user');
}

/** Where a place is along the route: `line Axis 1, 3+250.4, 2.1 m right`; null where it has no station. */
export function stationWords(place: { line?: string; stationLabel?: string; offset?: number }): string | null {
  const { line, stationLabel, offset } = place;
  if (stationLabel === undefined || offset === undefined) return null;
  return `${line === undefined ? '' : `${line} `}${stationLabel}, ${offsetWords(offset)}`;
}

/** An offset in words, to 0.1 m: `2.1 m right`, `0.5 m left`, `on the line`. */
export function offsetWords(offset: number): string {
  const size = Math.abs(offset).toFixed(1);
  return size === '0.0' ? 'on the line' : `${size} m ${offset > 0 ? 'right' : 'left'}`;
}

/** Likely causes and what to do, one sentence or two a line. */
export function adviceLines({ causes, advice }: Pick<RequirementResult, 'causes' | 'advice'>): string[] {
  return [...causes.map(({ title, text }) => `Likely cause: ${title}. ${text}`), ...advice];
}

/** Why a file could not be fully read, without its name in front; empty where it could. */
export function faultWords({ file, fault }: Pick<FileResult, 'file' | 'fault'>): string {
  const prefix = `${file}: `;
  return fault?.startsWith(prefix) ? fault.slice(prefix.length) : (fault ?? '');
}
