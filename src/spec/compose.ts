import { PASS_CRITERIA } from './acceptance-spec.js';
import type { CheckFragment } from './schema-fragment.js';
import { COMMON_KEYS } from './schema-fragment.js';

/** A JSON Schema, or a part of one. */
export type JsonSchema = Record<string, unknown>;

/**
 * Puts the JSON Schema 2020-12 of the whole acceptance spec together from the fragments of the checks. The order of the
 * fragments does not matter. Lengths are metres, areas square metres, whatever the unit of the cloud.
 *
 * @throws Error for an invalid fragment (an option without description, a name used twice): a programming error, never
 * the user's.
 */
export function composeSchema(fragments: readonly CheckFragment[]): JsonSchema {
  if (fragments.length === 0) throw new Error('no checks to compose the spec from');
  const sorted = [...fragments].sort((a, b) => (a.id < b.id ? -1 : 1));
  const defs: Record<string, JsonSchema> = {};
  for (const fragment of sorted) {
    if (defs[fragment.id]) throw new Error(`two checks are called ${fragment.id}`);
    defs[fragment.id] = requirementSchema(fragment);
  }
  return {
    $schema: 'https://json-schema.org/draft/2020-12/schema',
    title: 'Acceptance spec of a point cloud delivery',
    description:
      'What a delivery must meet. Lengths are in metres and areas in square metres, whatever the unit of the cloud.',
    type: 'object',
    required: ['spec', 'title', 'requirements'],
    additionalProperties: false,
    properties: {
      $schema: { type: 'string', description: 'Address of this schema, for editors; not read otherwise.' },
      spec: { const: '1', description: 'Version of the spec format.' },
      title: { type: 'string', minLength: 1, description: 'Name of the spec, printed on the report.' },
      crs: crsSchema(),
      passes: passesSchema(),
      requirements: {
        type: 'array',
        minItems: 1,
        description: 'What is demanded, one entry a requirement; the order is kept in the report.',
        items: {
          type: 'object',
          required: ['id', 'check'],
          discriminator: { propertyName: 'check' },
          oneOf: sorted.map((fragment) => ({ $ref: `#/$defs/${fragment.id}` })),
        },
      },
    },
    $defs: defs,
  };
}

function requirementSchema({ id, title, schema }: CheckFragment): JsonSchema {
  if (!/^[a-z0-9-]+$/.test(id)) throw new Error(`check id "${id}" is not in kebab case`);
  for (const [key, property] of Object.entries(schema.properties)) {
    if ((COMMON_KEYS as readonly string[]).includes(key)) throw new Error(`option "${key}" of ${id} is a common key`);
    if (typeof property.description !== 'string') throw new Error(`option "${key}" of ${id} has no description`);
  }
  for (const key of [...schema.required, ...(schema.anyOf ?? []).flatMap((entry) => entry.required)]) {
    if (!Object.hasOwn(schema.properties, key))
      throw new Error(`${id} requires "${key}", which is not an option of it`);
  }
  return {
    title,
    type: 'object',
    additionalProperties: false,
    required: ['id', 'check', ...schema.required],
    ...(schema.anyOf ? { anyOf: schema.anyOf } : {}),
    properties: { ...commonProperties(id), ...schema.properties },
  };
}

function commonProperties(check: string): Record<string, JsonSchema> {
  return {
    id: {
      type: 'string',
      minLength: 1,
      description: 'Name of the requirement as the contract has it; given once only.',
    },
    check: { const: check, description: 'Which check decides the requirement.' },
    zone: {
      type: 'string',
      minLength: 1,
      description: 'Name of a polygon of the zones file; without it the whole delivery is judged.',
    },
    level: {
      type: 'string',
      enum: ['mandatory', 'advisory'],
      default: 'mandatory',
      description: 'A mandatory requirement decides acceptance; an advisory one is reported only.',
    },
    decision: {
      type: 'string',
      enum: ['simple', 'guarded'],
      default: 'simple',
      description:
        'simple compares the measured figure with the limit; guarded passes only if the upper end of its confidence interval is within the limit too.',
    },
    note: { type: 'string', description: 'Free text for the reader of the spec; decides nothing.' },
  };
}

function crsSchema(): JsonSchema {
  const code = (what: string): JsonSchema => ({
    type: 'string',
    pattern: '^EPSG:[0-9]{4,6}$',
    description: `${what}, as an EPSG code such as EPSG:25832.`,
  });
  return {
    type: 'object',
    additionalProperties: false,
    description: 'The coordinate system the delivery must be in; what is left out is not demanded.',
    properties: {
      horizontal: code('Projected coordinate system of easting and northing'),
      vertical: code('Height system'),
      unit: {
        type: 'string',
        enum: ['metre', 'foot', 'us-survey-foot'],
        description: 'Unit of the coordinates in the cloud files. The spec itself is in metres always.',
      },
    },
  };
}

function passesSchema(): JsonSchema {
  return {
    type: 'object',
    additionalProperties: false,
    required: ['by'],
    description: 'How points belong to passes; by point source ID when left out.',
    properties: {
      by: {
        description:
          'What separates one pass from another: one criterion, or a list of several; points of one pass then agree in all of them.',
        if: { type: 'array' },
        // biome-ignore lint/suspicious/noThenProperty: keyword of JSON Schema; this object is never awaited
        then: { items: { enum: PASS_CRITERIA }, minItems: 1, uniqueItems: true },
        else: { enum: PASS_CRITERIA },
      },
      gap: {
        type: 'number',
        exclusiveMinimum: 0,
        description: 'Seconds without points after which a new pass begins; for gps-time-gap only.',
      },
    },
    if: {
      required: ['by'],
      properties: {
        by: { anyOf: [{ const: 'gps-time-gap' }, { type: 'array', contains: { const: 'gps-time-gap' } }] },
      },
    },
    // biome-ignore lint/suspicious/noThenProperty: keyword of JSON Schema; this object is never awaited
    then: { required: ['gap'] },
    else: { properties: { gap: false } },
  };
}
