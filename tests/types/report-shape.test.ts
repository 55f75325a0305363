import { describe, expect, it } from 'vitest';
import type { PassPairLine, SurveyPointLine } from '../../src/checks/contract/check.js';
import type { FileResult, RequirementResult } from '../../src/report/model.js';

const PAIR = { a: '11', b: '12', cells: 4, meanDz: 0.01, rmsDz: null, maxDz: null };
const AXES = { shift: [0, null, 0.01], shiftStd: [0.001, null, 0.001], observable: [true, false, true] };

/**
 * Builders of objects of the report, each with one mistake. The type check of the tests fails on a line where the compiler
 * finds none.
 */
const mistakes = {
  misspelt: (): PassPairLine => ({
    ...AXES,
    ...PAIR,
    // @ts-expect-error a misspelt key
    meanDZ: 0.01,
  }),
  // @ts-expect-error a missing key: observable
  missing: (): PassPairLine => ({ ...PAIR, shift: AXES.shift, shiftStd: AXES.shiftStd }),
  // @ts-expect-error null where the declaration allows none
  noNull: (): PassPairLine => ({ ...PAIR, ...AXES, cells: null }),
  // @ts-expect-error a word that the declaration does not have
  word: (): SurveyPointLine['status'] => 'fine',
  // @ts-expect-error a unit that no figure has
  unit: (): RequirementResult['units'] => ({ rmse: 'feet' }),
  // @ts-expect-error the extent of a file may be null, not absent
  extent: (): FileResult['extent'] => undefined,
};

/** As above, without a mistake: a key that may be absent is left out. */
const right = (): SurveyPointLine => ({
  id: 'P1',
  role: 'check',
  x: 1,
  y: 2,
  z: 3,
  dz: null,
  n: 0,
  method: 'plane',
  perPass: [],
  status: 'no-data',
});

describe('types of the report', () => {
  it('come from the declaration: the builders above have the mistakes that the compiler finds', () => {
    expect(Object.keys(mistakes)).toEqual(['misspelt', 'missing', 'noNull', 'word', 'unit', 'extent']);
    expect(Object.keys(right())).not.toContain('dx');
  });
});
