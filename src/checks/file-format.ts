import { type DeliveredFile, middleOf } from '../delivery/delivery.js';
import type { Check, Requirement } from './contract/check.js';
import { limitsOf, type Metrics, metric, NONE_ALLOWED } from './contract/metric.js';
import { figure, plural, undetermined } from './contract/wording.js';
import { scalesOf } from './passes/coordinate-step.js';

export interface FileFormatOptions {
  versions?: string[];
  pointFormats?: number[];
  containers?: ('LAS' | 'LAZ' | 'COPC')[];
  maxScale?: number;
}

/** The figures, and the limits they are held against. */
const metrics = {
  mismatches: metric('files not as agreed', 'count', NONE_ALLOWED),
  files: metric('files', 'count'),
} satisfies Metrics;

export const fileFormat = {
  id: 'file-format',
  title: 'File format',
  why: 'Programs that were made ready for one version, point format or container may refuse another or drop attributes, and a coarse scale rounds coordinates for good.',
  sources: [
    {
      standard: 'LAS 1.4 R15',
      clause: 'public header block: version, point data record format, scale factors',
      note: 'what versions 1.2 to 1.4 and point formats 0 to 10 are',
    },
    { standard: 'LAS 1.5 R00', clause: 'public header block: version' },
    { standard: 'COPC 1.0', clause: 'introduction', note: 'a COPC file is a LAZ file' },
    { standard: 'common practice', note: 'version, point format, container and scale are agreed in the contract' },
  ],
  schema: {
    properties: {
      versions: {
        type: 'array',
        items: { enum: ['1.2', '1.3', '1.4', '1.5'] },
        minItems: 1,
        uniqueItems: true,
        description: 'Accepted versions of LAS; the version of a LAZ or COPC file is that of its header.',
      },
      pointFormats: {
        type: 'array',
        items: { type: 'integer', minimum: 0, maximum: 10 },
        minItems: 1,
        uniqueItems: true,
        description: 'Accepted point data record formats, by number.',
      },
      containers: {
        type: 'array',
        items: { enum: ['LAS', 'LAZ', 'COPC'] },
        minItems: 1,
        uniqueItems: true,
        description: 'Accepted containers. COPC files are LAZ files too: they are accepted where LAZ is.',
      },
      maxScale: {
        type: 'number',
        exclusiveMinimum: 0,
        description:
          'Largest scale of the coordinates in the header, horizontal and vertical, metres; scales in feet are converted.',
      },
    },
    required: [],
    anyOf: [
      { required: ['versions'] },
      { required: ['pointFormats'] },
      { required: ['containers'] },
      { required: ['maxScale'] },
    ],
  },
  wholeFiles: true,
  metrics,
  quality: 'DQ_FormatConsistency',
  needs: () => ({}),

  explain({ versions, pointFormats, containers, maxScale }: Requirement<FileFormatOptions>) {
    const parts = [
      versions && `LAS version ${listed(versions)}`,
      pointFormats && `point format ${listed(pointFormats)}`,
      containers && `container ${listed(containers)}`,
      maxScale !== undefined && `horizontal and vertical scale ${atMostMetres(maxScale)}`,
    ].filter((part) => typeof part === 'string');
    return `Every file must have ${parts.length > 2 ? `${parts.slice(0, -1).join(', ')}, and ${parts.at(-1)}` : parts.join(' and ')}.`;
  },

  judge(_facts, requirement, { delivery }) {
    const readable = delivery.files.filter((file) => file.header !== null);
    const limits = limitsOf(metrics, requirement);
    if (readable.length === 0)
      return undetermined('No header could be read, so no format could be compared.', { limits });
    const odd = readable
      .map((file) => ({ file, differences: differencesOf(file, requirement) }))
      .filter(({ differences }) => differences.length > 0);
    const inDegrees = requirement.maxScale === undefined ? 0 : readable.filter(isGeographic).length;
    const measured = { mismatches: figure(odd.length, 'count'), files: figure(readable.length, 'count') };
    if (odd.length === 0 && inDegrees > 0) {
      const summary = `The coordinates of ${plural(inDegrees, 'file')} are in degrees, so their scale could not be compared with metres.`;
      return undetermined(summary, { measured, limits });
    }
    return {
      state: odd.length > 0 ? 'fail' : 'pass',
      summary:
        odd.length > 0
          ? `${plural(odd.length, 'file')} of ${readable.length} ${odd.length === 1 ? 'is' : 'are'} not in the agreed format: ${odd[0].file.name} (${inWords(odd[0].differences)})${odd.length > 1 ? ' and others' : ''}.`
          : `${plural(readable.length, 'file')}, all in the agreed format.`,
      measured,
      limits,
      evidence: [
        {
          kind: 'locations',
          title: 'Files that are not in the agreed format',
          items: odd.map(({ file, differences }) => ({
            ...middleOf(file)!,
            file: file.name,
            value: null,
            unit: 'count',
            note: inWords(differences),
          })),
        },
        {
          kind: 'table',
          title: 'Files that are not in the agreed format',
          columns: [
            { key: 'file', title: 'file' },
            { key: 'property', title: 'property' },
            { key: 'found', title: 'found' },
            { key: 'agreed', title: 'agreed' },
          ],
          rows: odd.flatMap(({ file, differences }) =>
            differences.map(({ property, found, agreed }) => [file.name, property, found, agreed]),
          ),
        },
      ],
      advice: adviceOn(odd.flatMap(({ differences }) => differences)),
    };
  },
} satisfies Check<FileFormatOptions>;

/** What of a file is not as agreed. */
interface Difference {
  property: 'LAS version' | 'point format' | 'container' | 'horizontal scale' | 'vertical scale';
  found: string;
  agreed: string;
}

function differencesOf(file: DeliveredFile, options: FileFormatOptions): Difference[] {
  const { versions, pointFormats, containers, maxScale } = options;
  const { versionMajor, versionMinor, pointFormat } = file.header!;
  const differences: Difference[] = [];
  const version = `${versionMajor}.${versionMinor}`;
  if (versions && !versions.includes(version))
    differences.push({ property: 'LAS version', found: version, agreed: listed(versions) });
  if (pointFormats && !pointFormats.includes(pointFormat))
    differences.push({ property: 'point format', found: `${pointFormat}`, agreed: listed(pointFormats) });
  if (containers && !isAccepted(file.format, containers))
    differences.push({ property: 'container', found: file.format ?? 'unknown', agreed: listed(containers) });
  if (maxScale !== undefined && !isGeographic(file)) {
    const [x, y, z] = scalesOf(file);
    for (const [property, scales] of [
      ['horizontal scale', [x, y]],
      ['vertical scale', [z]],
    ] as const) {
      const usable = scales.every((scale) => Number.isFinite(scale) && scale > 0);
      const coarsest = Math.max(...scales);
      // A part in a thousand million for the rounding of the conversion from feet.
      if (usable && coarsest <= maxScale * (1 + 1e-9)) continue;
      differences.push({ property, found: usable ? inMetres(coarsest) : 'unusable', agreed: atMostMetres(maxScale) });
    }
  }
  return differences;
}

function isAccepted(format: DeliveredFile['format'], containers: NonNullable<FileFormatOptions['containers']>) {
  if (format === null) return false;
  return containers.includes(format) || (format === 'COPC' && containers.includes('LAZ'));
}

/** In degrees, which no length can be compared with; the reader refuses the points of such a file. */
function isGeographic({ crs }: DeliveredFile): boolean {
  return crs?.horizontal?.geographic === true;
}

function adviceOn(differences: readonly Difference[]): string[] {
  const coarse = differences.filter(({ property }) => property.endsWith('scale')).length;
  return [
    ...(coarse < differences.length
      ? [
          'Export the files named again in the agreed version, point format and container, from data that have all attributes.',
        ]
      : []),
    ...(coarse > 0
      ? [
          'Export the points again from unrounded coordinates: a finer scale alone does not bring back what was rounded.',
        ]
      : []),
  ];
}

function inWords(differences: readonly Difference[]): string {
  return differences.map(({ property, found, agreed }) => `${property} ${found}, agreed ${agreed}`).join('; ');
}

/** "1.2, 1.3 or 1.4". */
function listed(values: readonly (string | number)[]): string {
  const last = `${values.at(-1)}`;
  return values.length === 1 ? last : `${values.slice(0, -1).join(', ')} or ${last}`;
}

/** Metres as a spec has them: a tenth of a millimetre is too coarse to tell scales from limits. */
function inMetres(metres: number): string {
  return `${Number(metres.toPrecision(7))} m`;
}

function atMostMetres(metres: number): string {
  return `at most ${inMetres(metres)}`;
}
