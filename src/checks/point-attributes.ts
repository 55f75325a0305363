import { fact } from '../measure/fact-types.js';
import type { AttributeLimits } from './attributes/attribute-breach.js';
import {
  evidenceOf,
  labelLines,
  ORDER_RULE,
  orderLine,
  PULSE_RULE,
  pulseLine,
  sentenceOf,
} from './attributes/attribute-lines.js';
import { attributeRules } from './attributes/attribute-rules.js';
import { maskArea } from './cells/mask-area.js';
import type { Check, Figure, JudgeContext, Requirement } from './contract/check.js';
import { atMost, limitsOf, type Metrics, metric } from './contract/metric.js';
import { figure, inZone, plural, undetermined } from './contract/wording.js';

export interface PointAttributesOptions {
  rules: string[];
  classes?: number[];
  maxScanAngle?: number;
  capturedFrom?: string;
  capturedTo?: string;
  unscaledIntensity: number;
  area?: string;
  areaMargin: number;
  maxViolations: number;
}

const PULSE_MOMENTS = 256;

/** Rules that their own option switches on. */
const BY_OPTION: Record<string, (r: Requirement<PointAttributesOptions>) => boolean> = {
  'class-not-allowed': (r) => r.classes !== undefined,
  'angle-above-limit': (r) => r.maxScanAngle !== undefined,
  'time-outside-period': (r) => r.capturedFrom !== undefined || r.capturedTo !== undefined,
  'outside-area': (r) => r.area !== undefined,
};
const BY_NAME = [...attributeRules.map((rule) => rule.id).filter((id) => !BY_OPTION[id]), PULSE_RULE.id, ORDER_RULE.id];
/** What the LAS standard asks of every file. */
const USUAL = [
  'class-reserved',
  'return-zero',
  'return-above-count',
  'return-above-format',
  'time-type-wrong',
  'pulse-time-unequal',
  'angle-outside-format',
  'source-id-zero',
  'intensity-flat',
  'intensity-unscaled',
  'colour-unscaled',
];

const needs = (requirement: Requirement<PointAttributesOptions>, context: JudgeContext) => {
  const ids = rulesOf(requirement);
  const attributes = new Set(attributeRules.filter(({ id }) => ids.has(id)).flatMap((rule) => rule.attributes));
  return {
    files: fact('attribute-codes', {
      attributes: [...attributes].sort(),
      wholeDegrees: context.delivery.files.filter((f) => (f.header?.pointFormat ?? 6) < 6).map((f) => f.index),
      within: maskArea(context, requirement.zone),
      area: maskArea(context, requirement.area, requirement.areaMargin),
    }),
    pulses: ids.has(PULSE_RULE.id) ? fact('pulse-times', { most: PULSE_MOMENTS }) : undefined,
    order: ids.has(ORDER_RULE.id) ? fact('time-order', null) : undefined,
  };
};

/** One figure for each rule. */
function ruleMetrics(): Metrics {
  const rules = [...attributeRules, PULSE_RULE, ORDER_RULE];
  return Object.fromEntries(rules.map((rule) => [rule.metric, metric(rule.id.replaceAll('-', ' '), 'count')]));
}

/** The figures, and the limits they are held against. */
const metrics = {
  violations: metric('violations', 'count', atMost('maxViolations')),
  ...ruleMetrics(),
} satisfies Metrics;

export const pointAttributes = {
  id: 'point-attributes',
  title: 'Point attributes',
  why: 'Classification, filtering and matching go by returns, times, classes and flags: where these are wrong, every later step goes wrong with them.',
  sources: [
    {
      standard: 'LAS 1.4 R16',
      clause: 'point data records',
      note: 'returns, classes, scan angle, source ID, intensity, colour',
    },
    { standard: 'LAS 1.4 R16', clause: 'public header block: global encoding', note: 'type of GPS time' },
    {
      standard: 'USGS Lidar Base Specification 2025 rev. A',
      clause: 'delivered classified point cloud',
      note: 'no class 0, no overlap flag, GPS time as standard time; rules never-classified and overlap',
    },
    {
      standard: 'common practice',
      note: 'colours of which none is above 255, and intensities in the range of the sensor, were not stretched',
    },
  ],
  schema: {
    properties: {
      rules: {
        type: 'array',
        items: { enum: BY_NAME },
        uniqueItems: true,
        default: USUAL,
        description: `Faults that are looked for, by name: ${BY_NAME.map((id) => `${id} (${faultOf(id)})`).join('; ')}. Without it, those the LAS standard names. ${PULSE_RULE.bound}. The options classes, maxScanAngle, capturedFrom, capturedTo and area add theirs.`,
      },
      classes: {
        type: 'array',
        items: { type: 'integer', minimum: 0, maximum: 255 },
        minItems: 1,
        uniqueItems: true,
        description:
          'Classes that points may have. A reserved class listed here counts as declared by a published profile.',
      },
      maxScanAngle: {
        type: 'integer',
        minimum: 1,
        maximum: 180,
        description: 'Largest scan angle to either side, whole degrees.',
      },
      capturedFrom: {
        type: 'string',
        pattern: '^[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$',
        description: 'First day of capture, such as 2025-04-01 (days of GPS time).',
      },
      capturedTo: {
        type: 'string',
        pattern: '^[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$',
        description: 'Last day of capture, such as 2025-04-30 (days of GPS time).',
      },
      unscaledIntensity: {
        type: 'integer',
        minimum: 1,
        maximum: 65534,
        default: 4095,
        description:
          'A file whose largest intensity is this or less was not stretched to 16 bits: 255, 1023 or 4095 for sensors of 8, 10 or 12 bits.',
      },
      area: { type: 'string', minLength: 1, description: 'Name of the zone that all points must be in.' },
      areaMargin: {
        type: 'number',
        minimum: 0,
        default: 0,
        description: 'How far outside that zone points may be, metres.',
      },
      maxViolations: {
        type: 'integer',
        minimum: 0,
        default: 0,
        description: 'Violations that are accepted, all rules together, count.',
      },
    },
    required: [],
  },
  quality: 'DQ_DomainConsistency',
  sideFiles: ({ area }) => (area === undefined ? [] : ['zones']),
  metrics,

  needs,

  explain(requirement: Requirement<PointAttributesOptions>) {
    const faults = [...rulesOf(requirement)].map((id) => faultOf(id, requirement));
    const { zone, maxViolations } = requirement;
    const accepted = maxViolations === 0 ? '' : `, but for ${plural(maxViolations, 'violation')} in all`;
    return `Points ${inZone(zone)} may not have ${listed(faults)}${accepted}. Withheld points are judged by their flags only${zone === undefined ? '' : '; pulses and the order of times are judged over the whole delivery'}.`;
  },

  judge({ files, pulses, order }, requirement, context) {
    const { zone, maxViolations } = requirement;
    const ids = rulesOf(requirement);
    const limits = limitsOf(metrics, requirement);
    if (files.length === 0)
      return undetermined(`No point was found ${inZone(zone)}, so no attribute could be tested.`, { limits });
    const lines = labelLines(ids, files, optionsOfRules(requirement), context, (id) => faultOf(id, requirement));
    if (ids.has(PULSE_RULE.id)) lines.push(pulseLine(pulses!));
    if (ids.has(ORDER_RULE.id)) lines.push(orderLine(order!, context));
    const tested = lines.filter((line) => line.count !== null);
    const broken = tested.filter((line) => line.count! > 0).sort((a, b) => b.count! - a.count!);
    const violations = tested.reduce((sum, line) => sum + line.count!, 0);
    const figures: Record<string, Figure> = { violations: figure(violations, 'count') };
    for (const line of lines) figures[line.metric] = figure(line.count, 'count');
    const points = files.reduce((sum, file) => sum + file.points, 0);
    const untested = lines.filter((line) => line.count === null).map((line) => line.id);
    const nothing = untested.length > 0 ? `There was nothing to test ${listed(untested)} on.` : '';
    const pass = violations <= maxViolations;
    const doubts = lines.flatMap(({ doubt }) => doubt ?? []);
    const aside = [nothing, ...(pass ? doubts : [])].map((text) => (text === '' ? '' : ` ${text}`)).join('');
    return {
      state: !pass ? 'fail' : tested.length === 0 || doubts.length > 0 ? 'undetermined' : 'pass',
      summary:
        broken.length === 0
          ? `${plural(tested.length, 'rule')} tested on ${plural(points, 'point')} ${inZone(zone)}; none is broken.${aside}`
          : `${plural(violations, 'violation')} ${inZone(zone)} (accepted: ${maxViolations}): ${broken.slice(0, 3).map(sentenceOf).join('; ')}${broken.length > 3 ? '; and others' : ''}.${aside}`,
      measured: figures,
      limits,
      evidence: evidenceOf(lines),
      advice: pass
        ? doubts.length > 0
          ? ['Deliver the points as they were recorded with their returns, or leave pulse-time-unequal out of `rules`.']
          : []
        : [
            'Correct the attributes where they were lost, and export the tiles again; editing them in the tiles hides what happened.',
          ],
    };
  },
} satisfies Check<PointAttributesOptions, typeof needs>;

/** The rules of a requirement, in a fixed order. */
function rulesOf(requirement: Requirement<PointAttributesOptions>): Set<string> {
  const all = [...attributeRules.map((rule) => rule.id), PULSE_RULE.id, ORDER_RULE.id];
  return new Set(all.filter((id) => (BY_OPTION[id] ? BY_OPTION[id](requirement) : requirement.rules.includes(id))));
}

function faultOf(id: string, options: Partial<PointAttributesOptions> = {}): string {
  const fault = [...attributeRules, PULSE_RULE, ORDER_RULE].find((rule) => rule.id === id)!.fault;
  return fault
    .replace('is not in `classes`', `is not ${listed((options.classes ?? []).map(String))}`)
    .replace('`maxScanAngle`', `${options.maxScanAngle} degrees`)
    .replace(
      'outside `capturedFrom` and `capturedTo`',
      `outside ${options.capturedFrom ?? 'any time'} to ${options.capturedTo ?? 'any time'}`,
    )
    .replace(
      'the zone named by `area`',
      `zone ${options.area}${options.areaMargin ? ` by more than ${options.areaMargin} m` : ''}`,
    );
}

function optionsOfRules(requirement: Requirement<PointAttributesOptions>): AttributeLimits {
  return {
    classes: requirement.classes,
    maxScanAngle: requirement.maxScanAngle,
    firstDay: dayOf(requirement.capturedFrom),
    lastDay: dayOf(requirement.capturedTo),
    unscaledIntensity: requirement.unscaledIntensity,
  };
}

/** Days since 1970-01-01. */
function dayOf(text: string | undefined): number | null {
  return text === undefined ? null : Date.parse(`${text}T00:00:00Z`) / 86_400_000;
}

function listed(parts: readonly string[]): string {
  return parts.length <= 1 ? parts.join('') : `${parts.slice(0, -1).join(', ')} or ${parts.at(-1)}`;
}
