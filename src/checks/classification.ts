import { fileAt } from '../delivery/delivery.js';
import type { FileAttributes } from '../measure/attribute-codes.js';
import { Code } from '../measure/attributes/code-counts.js';
import { fact } from '../measure/fact-types.js';
import type { GroundCells } from '../measure/ground-cells.js';
import { maskArea } from './cells/mask-area.js';
import type { Check, Evidence, Figure, JudgeContext, Location, Requirement, State } from './contract/check.js';
import { atMost, limitOfJudge, type Metrics, metric } from './contract/metric.js';
import { figure, inZone, length, percent, plural, undetermined } from './contract/wording.js';

interface ClassShare {
  class: number;
  min?: number;
  max?: number;
}

export interface ClassificationOptions {
  shares?: ClassShare[];
  maxNotLowest?: number;
  maxHighGround?: number;
  maxLowGround?: number;
  ground: number[];
  noise: number[];
  cell: number;
  step: number;
}

const LISTED = 25;

/** Rules on ground cells: by how much a cell breaks them, metres; null where it cannot be determined. */
const GROUND_RULES = [
  {
    metric: 'notLowest',
    label: 'ground that is not the lowest',
    limit: 'maxNotLowest',
    words: 'hold points of other classes below the ground',
    title: 'Ground that is not the lowest surface',
    note: 'other points below the lowest ground',
    by: (c: GroundCells, k: number) => (Number.isNaN(c.otherLow[k]) ? 0 : c.low[k] - c.otherLow[k]),
    z: (c: GroundCells, k: number) => c.otherLow[k],
  },
  {
    metric: 'highGround',
    label: 'ground points above the ground',
    limit: 'maxHighGround',
    words: 'have ground points above the surrounding ground',
    title: 'Ground points above the ground',
    note: 'ground point above the ground of the cells around',
    by: (c: GroundCells, k: number) =>
      Number.isNaN(c.aroundMax[k]) ? null : c.high[k] - Math.max(c.aroundMax[k], c.low[k]),
    z: (c: GroundCells, k: number) => c.high[k],
  },
  {
    metric: 'lowGround',
    label: 'ground points below the ground',
    limit: 'maxLowGround',
    words: 'have ground points deep below the ground around',
    title: 'Ground points below the ground',
    note: 'ground point below the ground of the cells around',
    by: (c: GroundCells, k: number) => (Number.isNaN(c.aroundMin[k]) ? null : c.aroundMin[k] - c.low[k]),
    z: (c: GroundCells, k: number) => c.low[k],
  },
] as const;

const limitOf = (r: Requirement<ClassificationOptions>, rule: (typeof GROUND_RULES)[number]) => r[rule.limit];
const needsGround = (r: Requirement<ClassificationOptions>) =>
  GROUND_RULES.some((rule) => limitOf(r, rule) !== undefined);

const shareOption = (what: string) => ({
  type: 'number',
  minimum: 0,
  maximum: 1,
  description: `Share of the cells with ground that may ${what}, 0 to 1.`,
});

const needs = (requirement: Requirement<ClassificationOptions>, context: JudgeContext) => {
  const { shares, ground, noise, cell, zone } = requirement;
  const within = maskArea(context, zone);
  return {
    attributes: shares
      ? fact('attribute-codes', { attributes: ['class'], wholeDegrees: [], within, area: null })
      : undefined,
    ground: needsGround(requirement) ? fact('ground-cells', { cell, ground, noise, within }) : undefined,
  };
};

/** One figure for each rule on ground cells. */
const groundMetrics = Object.fromEntries(
  GROUND_RULES.map((rule) => [rule.metric, metric(rule.label, 'share', atMost(rule.limit))]),
);

/** The figures, and the limits they are held against. */
const metrics = {
  sharesOutside: metric('classes outside their share', 'count', limitOfJudge('at-most')),
  ...groundMetrics,
  groundCells: metric('cells with ground', 'count'),
} satisfies Metrics;

export const classification = {
  id: 'classification',
  title: 'Plausibility of the classification',
  why: 'Terrain models are made of the ground class alone: an object in it becomes a hill, a point below it a pit, and ground left out of it a hole.',
  sources: [
    { standard: 'LAS 1.4 R16', clause: 'classification', note: '2 ground, 7 low noise, 18 high noise' },
    {
      standard: 'common practice',
      note: 'lowest and highest ground of a cell against other classes and the cells around; shares of classes against what the place is like',
    },
  ],
  schema: {
    properties: {
      shares: {
        type: 'array',
        minItems: 1,
        items: {
          type: 'object',
          required: ['class'],
          additionalProperties: false,
          properties: {
            class: { type: 'integer', minimum: 0, maximum: 255, description: 'Class.' },
            min: { type: 'number', minimum: 0, maximum: 1, description: 'Least share of all points, 0 to 1.' },
            max: { type: 'number', minimum: 0, maximum: 1, description: 'Largest share of all points, 0 to 1.' },
          },
        },
        description:
          'Shares of classes: { "class": 2, "min": 0.2, "max": 0.9 }; shares of all points that are not withheld.',
      },
      maxNotLowest: shareOption(
        'hold points of other classes, noise apart, more than `step` below their lowest ground point',
      ),
      maxHighGround: shareOption(
        'have a ground point more than `step` above the lowest ground of every cell around and of their own',
      ),
      maxLowGround: shareOption('have a ground point more than `step` below the lowest ground of every cell around'),
      ground: {
        type: 'array',
        items: { type: 'integer', minimum: 0, maximum: 255 },
        minItems: 1,
        uniqueItems: true,
        default: [2],
        description: 'Classes that are ground.',
      },
      noise: {
        type: 'array',
        items: { type: 'integer', minimum: 0, maximum: 255 },
        uniqueItems: true,
        default: [7, 18],
        description: 'Classes that are noise, and are left out of the comparison with ground.',
      },
      cell: {
        type: 'number',
        minimum: 0.05,
        maximum: 1000,
        default: 1,
        description: 'Edge of a square cell in which ground is compared, metres.',
      },
      step: {
        type: 'number',
        exclusiveMinimum: 0,
        default: 0.3,
        description: 'Height difference that counts, metres; more than a kerb or a step.',
      },
    },
    required: [],
    anyOf: [
      { required: ['shares'] },
      { required: ['maxNotLowest'] },
      { required: ['maxHighGround'] },
      { required: ['maxLowGround'] },
    ],
  },
  metrics,
  quality: 'DQ_ThematicClassificationCorrectness',

  needs,

  explain(requirement: Requirement<ClassificationOptions>) {
    const { shares, cell, step, ground, zone } = requirement;
    const parts = (shares ?? []).map(
      ({ class: c, min, max }) => `class ${c} must be ${rangeOf(min, max)} of the points`,
    );
    for (const rule of GROUND_RULES) {
      const limit = limitOf(requirement, rule);
      if (limit !== undefined)
        parts.push(
          `at most ${percent(limit)} of the ${cell} m cells with ground may ${rule.words} by more than ${length(step)}`,
        );
    }
    return `${inZone(zone).replace(/^i/, 'I')}: ${parts.join('; ')}. Ground is class ${ground.join(', ')}.`;
  },

  judge({ attributes, ground }, requirement, context) {
    const { shares, zone } = requirement;
    const found: Finding[] = [];
    if (shares) found.push(judgeShares(attributes!, shares));
    if (needsGround(requirement)) for (const one of judgeGround(ground!, requirement, context)) found.push(one);
    const states = found.map((f) => f.state);
    const state = states.includes('fail') ? 'fail' : states.includes('undetermined') ? 'undetermined' : 'pass';
    const said = found.filter((f) => f.state === state || state === 'pass').map((f) => f.text);
    const parts = { limits: merged(found.map((f) => f.limits)), evidence: found.flatMap((f) => f.evidence) };
    if (states.every((s) => s === 'undetermined')) return undetermined(`${said.join('; ')} ${inZone(zone)}.`, parts);
    return {
      state,
      summary: `${inZone(zone).replace(/^i/, 'I')} ${said.join('; ')}.`,
      measured: merged(found.map((f) => f.measured)),
      ...parts,
      advice:
        state === 'fail'
          ? [
              'Look at the places listed, correct the classification there, and run the ground filter again with settings for this kind of place.',
            ]
          : [],
    };
  },
} satisfies Check<ClassificationOptions, typeof needs>;

interface Finding {
  state: State;
  text: string;
  measured: Record<string, Figure>;
  limits: Record<string, Figure>;
  evidence: Evidence[];
}

function merged(parts: readonly Record<string, Figure>[]): Record<string, Figure> {
  return Object.assign({}, ...parts);
}

function rangeOf(min: number | undefined, max: number | undefined): string {
  if (max === undefined) return `at least ${percent(min ?? 0)}`;
  return min === undefined ? `at most ${percent(max)}` : `${percent(min)} to ${percent(max)}`;
}

function judgeShares(files: readonly FileAttributes[], shares: readonly ClassShare[]): Finding {
  const counts = new Float64Array(256);
  let points = 0;
  for (const file of files) {
    points += file.points;
    for (const [code, { points: n }] of file.codes) if (code < Code.class + 256) counts[code - Code.class] += n;
  }
  const limits = { sharesOutside: figure(0, 'count') };
  if (points === 0)
    return { state: 'undetermined', text: 'there is no point to take shares of', measured: {}, limits, evidence: [] };
  const outside = shares.filter(
    ({ class: c, min, max }) => counts[c] / points < (min ?? 0) || counts[c] / points > (max ?? 1),
  );
  const used = [...counts.keys()].filter((c) => counts[c] > 0 || shares.some((s) => s.class === c));
  return {
    state: outside.length > 0 ? 'fail' : 'pass',
    text:
      outside.length === 0
        ? `${plural(shares.length, 'class has its share', 'classes have their shares')} of ${plural(points, 'point')}`
        : outside
            .map(
              ({ class: c, min, max }) =>
                `class ${c} is ${percent(counts[c] / points)} of the points (required: ${rangeOf(min, max)})`,
            )
            .join(', '),
    measured: { sharesOutside: figure(outside.length, 'count') },
    limits,
    evidence: [
      {
        kind: 'table',
        title: 'Points by class',
        columns: [
          { key: 'class', title: 'class' },
          { key: 'points', title: 'points', unit: 'count' },
          { key: 'share', title: 'share', unit: 'share' },
          { key: 'asked', title: 'required' },
        ],
        rows: used.map((c) => {
          const asked = shares.find((s) => s.class === c);
          return [c, counts[c], counts[c] / points, asked ? rangeOf(asked.min, asked.max) : null];
        }),
      },
    ],
  };
}

function judgeGround(
  cells: GroundCells,
  requirement: Requirement<ClassificationOptions>,
  context: JudgeContext,
): Finding[] {
  const total = cells.column.length;
  return GROUND_RULES.flatMap((rule): Finding[] => {
    const limit = limitOf(requirement, rule);
    if (limit === undefined) return [];
    const limits = { [rule.metric]: figure(limit, 'share') };
    const by = Float64Array.from({ length: total }, (_, k) => rule.by(cells, k) ?? Number.NaN);
    const judged = by.reduce((n, v) => n + (Number.isNaN(v) ? 0 : 1), 0);
    if (judged === 0)
      return [{ state: 'undetermined', text: 'there is no ground to compare', measured: {}, limits, evidence: [] }];
    // A tenth of a quantum of grace: heights are whole tenths of a millimetre, their differences in metres are not.
    const broken = [...by.keys()].filter((k) => by[k] > requirement.step + 1e-5).sort((a, b) => by[b] - by[a] || a - b);
    const found = broken.length / judged;
    return [
      {
        state: found > limit ? 'fail' : 'pass',
        text: `${percent(found)} of ${plural(judged, 'cell')} of ${cells.cell} m with ground ${rule.words} by more than ${length(requirement.step)} (accepted: ${percent(limit)})`,
        measured: { groundCells: figure(total, 'count'), [rule.metric]: figure(found, 'share') },
        limits,
        evidence: [
          {
            kind: 'locations',
            title: rule.title,
            items: broken.slice(0, LISTED).map((k): Location => {
              const place = { x: (cells.column[k] + 0.5) * cells.cell, y: (cells.row[k] + 0.5) * cells.cell };
              const file = fileAt(context.delivery, place.x, place.y);
              return {
                ...place,
                z: rule.z(cells, k),
                ...(file ? { file } : {}),
                value: by[k],
                unit: 'm',
                note: rule.note,
                crossSectionRadius: Math.min(25, 4 * cells.cell),
              };
            }),
          },
        ],
      },
    ];
  });
}
