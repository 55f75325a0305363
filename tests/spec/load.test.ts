import { createHash } from 'node:crypto';
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { SpecFault } from '../../src/spec/load.js';
import { FRAGMENTS, loadSpec, PLANNED, parseSpec } from './fragments.js';

const base = { spec: '1', title: 'T' };
const density = { id: 'D', check: 'density', min: 10 };

function problems(value: unknown): readonly string[] {
  const text = typeof value === 'string' ? value : JSON.stringify(value, null, 1);
  try {
    parseSpec(text, 'dir/a.json', FRAGMENTS, PLANNED);
  } catch (error) {
    if (error instanceof SpecFault) return error.problems;
    throw error;
  }
  return [];
}
const ofRequirements = (...requirements: unknown[]) => problems({ ...base, requirements });

describe('a valid spec', () => {
  it('gets its defaults, and null where it says nothing of the coordinate system', () => {
    const text = JSON.stringify({ ...base, requirements: [density] });
    expect(parseSpec(text, '/somewhere/a.json', FRAGMENTS)).toEqual({
      title: 'T',
      crs: { horizontal: null, vertical: null, unit: null },
      passes: { by: ['point-source-id'] },
      requirements: [{ ...density, cell: 1, share: 1, count: 'all', level: 'mandatory', decision: 'simple' }],
      sha256: createHash('sha256').update(text).digest('hex'),
      file: 'a.json',
    });
  });

  it('keeps what is given over the defaults', () => {
    const given = { ...density, cell: 2, level: 'advisory', decision: 'guarded', zone: 'a', note: 'n' };
    const crs = { horizontal: 'EPSG:25832', vertical: 'EPSG:5799', unit: 'us-survey-foot' };
    const spec = parseSpec(
      JSON.stringify({
        ...base,
        $schema: './s.json',
        crs,
        passes: { by: 'gps-time-gap', gap: 20 },
        requirements: [given],
      }),
      'a.json',
      FRAGMENTS,
    );
    expect(spec.crs).toEqual(crs);
    expect(spec.passes).toEqual({ by: ['gps-time-gap'], gap: 20 });
    expect(spec.requirements[0]).toEqual({ ...given, share: 1, count: 'all' });
  });

  it('does not mind a byte order mark, and signs the bytes as they are', () => {
    const bytes = Buffer.from(`\ufeff${JSON.stringify({ ...base, requirements: [density] })}`);
    const spec = parseSpec(bytes, 'a.json', FRAGMENTS);
    expect(spec.title).toBe('T');
    expect(spec.sha256).toBe(createHash('sha256').update(bytes).digest('hex'));
  });
});

describe('what the author of a spec is told', () => {
  it('an unknown key: the nearest one, and all that are allowed', () => {
    expect(ofRequirements({ id: 'ACC-V', check: 'vertical-accuracy', maxRmes: 0.02 })).toEqual([
      'line 5, requirements[0] (ACC-V): the key "maxRmse" is missing (Largest RMSE of the heights, metres.)',
      'line 8, requirements[0].maxRmes (ACC-V): unknown key "maxRmes"; did you mean "maxRmse"? Keys of the check ' +
        'vertical-accuracy: id, check, zone, level, decision, note, maxRmse, minPoints, method, radius, maxMean, surface, ' +
        'classes, blunderFactor, maxBlunders',
    ]);
  });

  it('an unknown key at the top', () => {
    const [first] = problems({ ...base, requirement: [], requirements: [density] });
    expect(first).toContain('unknown key "requirement"; did you mean "requirements"?');
  });

  it('an unknown check: the nearest one; never a guess where nothing is near', () => {
    expect(ofRequirements({ ...density, check: 'desnity' })).toEqual([
      'line 7, requirements[0].check (D): unknown check "desnity"; did you mean "density"? Checks: crs, density, ' +
        'header-agreement, pass-agreement, vertical-accuracy, voids',
    ]);
    expect(ofRequirements({ id: 'D', check: 'colour' })[0]).toContain('unknown check "colour". Checks: crs, density');
  });

  it('a check that is to come: it is not built yet', () => {
    for (const check of PLANNED) {
      expect(ofRequirements({ id: 'X', check })).toEqual([
        expect.stringContaining(`the check "${check}" is not available in this version. Checks: crs, density`),
      ]);
    }
  });

  it('a requirement without check, with a number for it, or that is none', () => {
    expect(ofRequirements({ id: 'X' })).toEqual([expect.stringContaining('the key "check" is missing. Checks: crs,')]);
    expect(ofRequirements({ id: 'X', check: 3 })[0]).toContain('must be the name of a check, found 3');
    expect(ofRequirements(7)).toEqual(['line 5, requirements[0]: must be an object in { }, found 7']);
    expect(ofRequirements({ check: 'density', min: 3 })[0]).toContain('the key "id" is missing');
  });

  it('a number in quotes, out of range, or not whole', () => {
    expect(ofRequirements({ id: 'A', check: 'vertical-accuracy', maxRmse: '0,02' })[0]).toBe(
      'line 8, requirements[0].maxRmse (A): must be a number, found "0,02"; write it without quotes and with a decimal ' +
        'point (Largest RMSE of the heights, metres.)',
    );
    expect(ofRequirements({ ...density, share: 98 })[0]).toContain('must be at most 1, found 98 (Share of cells');
    expect(ofRequirements({ ...density, min: 0 })[0]).toContain('must be greater than 0, found 0');
    expect(ofRequirements({ id: 'V', check: 'voids', maxArea: -1 })[0]).toContain('must be at least 0, found -1');
    const accuracy = { id: 'A', check: 'vertical-accuracy', maxRmse: 1 };
    expect(ofRequirements({ ...accuracy, minPoints: 2.5 })[0]).toContain('must be a whole number, found 2.5');
    expect(ofRequirements({ ...accuracy, classes: [2, 300] })[0]).toContain(
      'requirements[0].classes[1] (A): must be at most 255',
    );
    expect(ofRequirements({ ...accuracy, classes: [] })[0]).toContain('must list at least 1, found 0');
    expect(ofRequirements({ ...accuracy, classes: [2, 2] })[0]).toContain('lists the same value twice');
    expect(ofRequirements({ ...accuracy, classes: 2 })[0]).toContain('must be a list in [ ], found 2');
  });

  it('a word that is not one of the allowed ones', () => {
    expect(ofRequirements({ ...density, level: 'mandatroy' })[0]).toContain(
      'must be one of mandatory, advisory, found "mandatroy"; did you mean "mandatory"?',
    );
    expect(ofRequirements({ ...density, count: 'middle' })[0]).toContain(
      'must be one of all, first, last, only, found "middle"',
    );
    expect(ofRequirements({ id: 'C', check: 'crs', requireVertical: 'yes' })[0]).toContain(
      'must be true or false, found "yes"',
    );
  });

  it('none of several limits given', () => {
    expect(ofRequirements({ id: 'REL', check: 'pass-agreement' })).toEqual([
      'line 5, requirements[0] (REL): at least one of maxRmsDz, maxDz, maxShift must be given',
    ]);
    expect(ofRequirements({ id: 'REL', check: 'pass-agreement', maxDz: 0.03 })).toEqual([]);
  });

  it('the same id twice, blanks around it or not', () => {
    expect(ofRequirements(density, { ...density, id: 'E' }, { ...density, id: 'D ' })).toEqual([
      'line 16, requirements[2].id (D ): the id "D" is already used by requirements[0]; every requirement needs its own',
    ]);
  });

  it('passes: a gap that is missing, a gap that means nothing, a rule that does not exist', () => {
    const passes = (rule: unknown) => problems({ ...base, passes: rule, requirements: [density] });
    expect(passes({ by: 'gps-time-gap' })).toEqual([
      'line 4, passes: the key "gap" is missing: seconds without points, after which a new pass begins',
    ]);
    expect(passes({ by: 'file', gap: 3 })).toEqual([
      'line 6, passes.gap: "gap" is only used for passes by gps-time-gap; remove it',
    ]);
    expect(passes({ by: 'gps-time' })[0]).toContain('found "gps-time"; did you mean "gps-time-gap"?');
    expect(passes({ by: 'gps-time-gap', gap: 0 })[0]).toContain('must be greater than 0');
    expect(passes({ by: ['gps-time-gap', 'file'] })).toEqual([
      'line 4, passes: the key "gap" is missing: seconds without points, after which a new pass begins',
    ]);
    expect(passes({ by: ['scanner-chanel'] })[0]).toContain('did you mean "scanner-channel"?');
    expect(passes({ by: ['file', 'file'] })[0]).toContain('lists the same value twice');
    expect(passes({ by: [] })[0]).toContain('must list at least 1');
    expect(passes({ by: ['file'], gap: 3 })[0]).toContain('only used for passes by gps-time-gap');
  });

  it('passes: several criteria, whose order has no meaning', () => {
    const text = (by: unknown) => JSON.stringify({ ...base, passes: { by }, requirements: [density] });
    const passes = (by: unknown) => parseSpec(text(by), 'spec.json', FRAGMENTS).passes;
    expect(passes(['scanner-channel', 'point-source-id'])).toEqual({ by: ['point-source-id', 'scanner-channel'] });
    expect(passes(['point-source-id', 'scanner-channel'])).toEqual({ by: ['point-source-id', 'scanner-channel'] });
    expect(passes(['file'])).toEqual(passes('file'));
  });

  it('a coordinate system that is no EPSG code, a unit that is none', () => {
    const crs = (value: unknown) => problems({ ...base, crs: value, requirements: [density] });
    expect(crs({ horizontal: 'UTM32' })[0]).toContain('crs.horizontal: has an invalid form, found "UTM32" (Projected');
    expect(crs({ horizontal: 'UTM32' })[0]).toContain('as an EPSG code such as EPSG:25832');
    expect(crs({ vertical: 5799 })[0]).toContain('crs.vertical: must be a text, found 5799');
    expect(crs({ unit: 'meter' })[0]).toContain(
      'must be one of metre, foot, us-survey-foot, found "meter"; did you mean "metre"?',
    );
  });

  it('a version it does not know, no requirement, no object at all', () => {
    expect(problems({ ...base, spec: '2', requirements: [density] })[0]).toContain('spec: must be "1", found "2"');
    expect(problems({ ...base, requirements: [] })[0]).toContain('must list at least 1, found 0');
    expect(problems(base)[0]).toContain('the key "requirements" is missing');
    expect(problems([])).toEqual([
      'line 1, the spec: must be an object in { }, found a list (What a delivery must meet. Lengths are in metres and areas in square metres, whatever the unit of the cloud.)',
    ]);
  });

  it('everything at once, in the order of the file, in one fault', () => {
    const value = {
      ...base,
      titel: 1,
      requirements: [
        { ...density, min: -1 },
        { id: 'X', check: 'tiling' },
      ],
    };
    const found = problems(value);
    expect(found.map((text) => text.split(':')[0])).toEqual([
      'line 4, titel',
      'line 9, requirements[0].min (D)',
      'line 13, requirements[1].check (X)',
    ]);
    const fault = new SpecFault('a.json', found);
    expect(fault.facts.code).toBe('spec-invalid');
    expect(fault.message).toContain(
      'a.json: 3 problems in the acceptance spec\n  - line 4, titel: unknown key "titel"',
    );
    expect(new SpecFault('a.json', ['x']).message).toContain('1 problem in');
  });

  it('JSON that is none: line and column', () => {
    expect(() => problems('{\n  "spec": "1",\n  "title" "T"\n}')).toThrow(
      'dir/a.json: not valid JSON at line 3, column 11',
    );
    expect(() => problems('{"spec":"1","title":"T","title":"U"}')).toThrow('the key "title" is given twice');
    expect(() => parseSpec(Uint8Array.of(0x22, 0xe9, 0x22), 'a.json', FRAGMENTS)).toThrow('the file is not UTF-8 text');
  });

  it('is a SpecFault or json-syntax fault for any JSON whatever, never another error', () => {
    fc.assert(
      fc.property(
        fc.jsonValue(),
        fc.constantFrom('whole', 'requirement', 'options', 'crs', 'passes'),
        (value, part) => {
          const spec = {
            whole: value,
            requirement: { ...base, requirements: [value] },
            options: { ...base, requirements: [{ ...(value as object), id: 'D', check: 'density' }] },
            crs: { ...base, crs: value, requirements: [density] },
            passes: { ...base, passes: value, requirements: [density] },
          }[part];
          for (const problem of problems(JSON.stringify(spec))) expect(problem).toMatch(/^line 1, .+: ./);
        },
      ),
      { numRuns: 60 },
    );
  });
});

describe('loadSpec', () => {
  let folder: string;
  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), 'spec-'));
  });
  afterAll(() => rm(folder, { recursive: true }));

  it('reads a file and names it in faults', async () => {
    const path = join(folder, 'a.json');
    await writeFile(path, JSON.stringify({ ...base, requirements: [density] }));
    expect((await loadSpec(path, FRAGMENTS)).file).toBe('a.json');
    await writeFile(path, '{}');
    await expect(loadSpec(path, FRAGMENTS)).rejects.toThrow(`${path}: 3 problems in the acceptance spec`);
  });

  it('says that a file is missing or is a folder', async () => {
    await expect(loadSpec(join(folder, 'none.json'), FRAGMENTS)).rejects.toThrow('there is no such acceptance spec');
    await expect(loadSpec(folder, FRAGMENTS)).rejects.toThrow('the acceptance spec cannot be read: it is a folder');
  });
});

describe('published example specs', () => {
  it.each(['quay-road', 'rail-corridor', 'coast-airborne'])(
    '%s is valid, points to the schema, and is in the README',
    async (name) => {
      const folder = new URL('../../specs/', import.meta.url);
      const path = new URL(`${name}.json`, folder).pathname;
      const spec = await loadSpec(path, FRAGMENTS, PLANNED);
      expect(spec.requirements.length).toBeGreaterThan(5);
      expect(JSON.parse(await readFile(path, 'utf8')).$schema).toBe('./acceptance-spec.schema.json');
      expect(await readFile(new URL('README.md', folder), 'utf8')).toContain(`\`${name}.json\``);
    },
  );
});
