import type { AcceptanceSpec, PassCriterion, SpecPasses, SpecRequirement } from './acceptance-spec.js';

/** Explains one requirement in a sentence; written by each check. */
export type Explainer = (requirement: SpecRequirement) => string;

/**
 * The acceptance spec in plain words, for the person who signs it: title, coordinate system, passes, and one numbered
 * sentence a requirement with its level and zone. Ends with a line break.
 *
 * @param explainers by check id
 * @throws Error when a check of the spec has no explainer: a mistake of ours
 */
export function explainSpec(spec: AcceptanceSpec, explainers: ReadonlyMap<string, Explainer>): string {
  const lines = [
    spec.title,
    `Acceptance spec ${spec.file}, SHA-256 ${spec.sha256}`,
    '',
    crsSentence(spec),
    passSentence(spec.passes),
    'Lengths are in metres, areas in square metres.',
    '',
  ];
  spec.requirements.forEach((requirement, index) => {
    const explain = explainers.get(requirement.check);
    if (!explain) throw new Error(`no words for the check ${requirement.check}`);
    const number = `${index + 1}. `;
    lines.push(`${number}${requirement.id} (${standing(requirement)}): ${fullStop(explain(requirement))}`);
    const indent = ' '.repeat(number.length);
    if (requirement.decision === 'guarded') {
      lines.push(`${indent}Guarded: passes only if the upper end of the confidence interval is within the limit too.`);
    }
    if (requirement.note) lines.push(`${indent}Note: ${requirement.note}`);
  });
  const advisory = spec.requirements.filter((requirement) => requirement.level === 'advisory').length;
  const mandatory = spec.requirements.length - advisory;
  lines.push(
    '',
    `${mandatory} mandatory and ${advisory} advisory. The delivery is accepted when every mandatory one is met.`,
  );
  return `${lines.join('\n')}\n`;
}

function crsSentence({ crs }: AcceptanceSpec): string {
  const parts: string[] = [];
  if (crs.horizontal) parts.push(`horizontal coordinates in ${crs.horizontal}`);
  if (crs.vertical) parts.push(`heights in ${crs.vertical}`);
  if (crs.unit) parts.push(`unit ${crs.unit.replaceAll('-', ' ')}`);
  return parts.length > 0
    ? `Coordinate system: ${parts.join(', ')}.`
    : 'Coordinate system: any; the system stated by the cloud is used.';
}

function passSentence({ by, gap }: SpecPasses): string {
  if (by.length > 1) {
    const parts = by.map((criterion) => SAME[criterion](gap));
    return `Passes: points belong to one pass if they ${parts.slice(0, -1).join(', ')} and ${parts.at(-1)}.`;
  }
  switch (by[0]) {
    case 'point-source-id':
      return 'Passes: points of the same point source ID belong to one pass.';
    case 'file':
      return 'Passes: every file is one pass.';
    case 'scanner-channel':
      return 'Passes: points of the same scanner channel belong to one pass. All drives of a scanner head are then one pass: errors that change their sign with the driving direction can cancel. To compare the heads drive by drive, add point-source-id or gps-time-gap.';
    case 'gps-time-gap':
      return `Passes: a new pass begins after ${gap} s without points (GPS time).`;
    case 'trajectory':
      return 'Passes: points of the same drive, taken in one direction, belong to one pass; a turnaround of the vehicle begins a new one. The trajectory says when.';
  }
}

/** What the points of a pass have in common, by criterion. */
const SAME: Record<PassCriterion, (gap?: number) => string> = {
  file: () => 'come from the same file',
  'point-source-id': () => 'have the same point source ID',
  'gps-time-gap': (gap) => `belong to the same drive (a new drive begins after ${gap} s without points, GPS time)`,
  trajectory: () => 'belong to the same drive in one direction, after the trajectory',
  'scanner-channel': () => 'have the same scanner channel',
};

function standing(requirement: SpecRequirement): string {
  return requirement.zone ? `${requirement.level}, in zone "${requirement.zone}"` : `${requirement.level}, everywhere`;
}

function fullStop(sentence: string): string {
  const text = sentence.trim();
  return /[.!?]$/.test(text) ? text : `${text}.`;
}
