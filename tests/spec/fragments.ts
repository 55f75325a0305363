import { compileValidator } from '../../src/spec/compile-validator.js';
import * as load from '../../src/spec/load.js';
import type { CheckFragment } from '../../src/spec/schema-fragment.js';

const share = { type: 'number', minimum: 0, maximum: 1 };
const length = { type: 'number', exclusiveMinimum: 0 };
const count = {
  type: 'string',
  enum: ['all', 'first', 'last', 'only'],
  default: 'all',
  description: 'Returns counted.',
};

/** Options like those of the real checks, so that the spec layer can be tried on its own. */
export const FRAGMENTS: readonly CheckFragment[] = [
  {
    id: 'density',
    title: 'Density',
    schema: {
      required: ['min'],
      properties: {
        cell: { ...length, default: 1, description: 'Side of a cell, metres.' },
        min: { ...length, description: 'Points a square metre that a cell must hold.' },
        share: { ...share, default: 1, description: 'Share of cells that must hold them, 0 to 1.' },
        count,
      },
    },
  },
  {
    id: 'voids',
    title: 'Voids',
    schema: {
      required: ['maxArea'],
      properties: {
        maxArea: { type: 'number', minimum: 0, description: 'Largest gap allowed, square metres.' },
        cell: { ...length, default: 0.5, description: 'Side of a cell, metres.' },
        count,
      },
    },
  },
  {
    id: 'vertical-accuracy',
    title: 'Vertical accuracy',
    schema: {
      required: ['maxRmse'],
      properties: {
        maxRmse: { ...length, description: 'Largest RMSE of the heights, metres.' },
        minPoints: { type: 'integer', minimum: 1, default: 30, description: 'Check points needed.' },
        method: { type: 'string', enum: ['plane', 'tin', 'idw'], default: 'plane', description: 'Height at a point.' },
        radius: { ...length, default: 0.5, description: 'Search radius, metres.' },
        maxMean: { ...length, description: 'Largest mean error, metres.' },
        surface: { type: 'string', enum: ['hard', 'vegetated', 'any'], default: 'hard', description: 'Points used.' },
        classes: {
          type: 'array',
          minItems: 1,
          uniqueItems: true,
          items: { type: 'integer', minimum: 0, maximum: 255 },
          description: 'Point classes used.',
        },
        blunderFactor: { ...length, default: 3, description: 'Residual over this many limits is a blunder.' },
        maxBlunders: { type: 'integer', minimum: 0, default: 0, description: 'Blunders allowed.' },
      },
    },
  },
  {
    id: 'pass-agreement',
    title: 'Pass agreement',
    schema: {
      required: [],
      anyOf: [{ required: ['maxRmsDz'] }, { required: ['maxDz'] }, { required: ['maxShift'] }],
      properties: {
        maxRmsDz: { ...length, description: 'Largest RMS of height differences, metres.' },
        maxDz: { ...length, description: 'Largest height difference, metres.' },
        maxShift: { ...length, description: 'Largest shift, metres.' },
        voxel: { ...length, default: 0.5, description: 'Side of a voxel, metres.' },
        minPoints: { type: 'integer', minimum: 3, default: 10, description: 'Points a voxel and pass.' },
        minCells: { type: 'integer', minimum: 1, default: 30, description: 'Voxels needed.' },
      },
    },
  },
  { id: 'header-agreement', title: 'Header agreement', schema: { required: [], properties: {} } },
  {
    id: 'crs',
    title: 'Coordinate system',
    schema: {
      required: [],
      properties: { requireVertical: { type: 'boolean', default: true, description: 'Height system needed.' } },
    },
  },
];

export const PLANNED = ['las-structure', 'duplicates', 'tiling', 'horizontal-accuracy', 'pass-drift'];

const validators = new Map<readonly CheckFragment[], load.SpecValidator>();

function validatorOf(fragments: readonly CheckFragment[]): load.SpecValidator {
  const validate = validators.get(fragments) ?? compileValidator(fragments).validate;
  validators.set(fragments, validate);
  return validate;
}

/** As the functions of src/spec/load.ts, with a validator of these fragments in place of the built one. */
export const parseSpec = (
  bytes: Uint8Array | string,
  where: string,
  fragments: readonly CheckFragment[],
  planned: readonly string[] = [],
) => load.parseSpec(bytes, where, fragments, planned, validatorOf(fragments));
export const loadSpec = (path: string, fragments: readonly CheckFragment[], planned: readonly string[] = []) =>
  load.loadSpec(path, fragments, planned, validatorOf(fragments));
