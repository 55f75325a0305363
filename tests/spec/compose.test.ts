import { mkdtemp, readdir, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { describe, expect, it } from 'vitest';
import { composeSchema } from '../../src/spec/compose.js';
import { schemaText, writeSchema } from '../../src/spec/generate.js';
import type { CheckFragment } from '../../src/spec/schema-fragment.js';
import { FRAGMENTS } from './fragments.js';

const fragment = (
  part: Partial<CheckFragment> & { properties?: CheckFragment['schema']['properties'] },
): CheckFragment => ({
  id: 'a',
  title: 'A',
  schema: { properties: part.properties ?? {}, required: [] },
  ...part,
});

describe('composed schema', () => {
  it('is valid JSON Schema 2020-12 by its meta-schema, as published at json-schema.org and bundled with ajv', () => {
    const ajv = new Ajv2020({ strict: false });
    expect(ajv.validateSchema(JSON.parse(schemaText(FRAGMENTS)))).toBe(true);
  });

  it('judges the same for editors that do not know the discriminator keyword', () => {
    const text = schemaText(FRAGMENTS).replaceAll('"discriminator"', '"x-ignored"');
    const validate = new Ajv2020({ strict: false }).compile(JSON.parse(text));
    const spec = (requirement: unknown) => ({ spec: '1', title: 'T', requirements: [requirement] });
    expect(validate(spec({ id: 'D', check: 'density', min: 1 }))).toBe(true);
    expect(validate(spec({ id: 'D', check: 'density', min: 1, maxArea: 1 }))).toBe(false);
    expect(validate(spec({ id: 'D', check: 'voids', min: 1 }))).toBe(false);
    expect(validate(spec({ id: 'D', check: 'nothing' }))).toBe(false);
  });

  it('describes every property', () => {
    const missing: string[] = [];
    const walk = (node: unknown, path: string): void => {
      if (node === null || typeof node !== 'object') return;
      for (const [key, value] of Object.entries(node)) {
        if (key === 'properties' && !path.endsWith('/if') && !path.endsWith('/else')) {
          for (const [name, property] of Object.entries(value as object)) {
            if (typeof property.description !== 'string') missing.push(`${path}/${name}`);
          }
        }
        walk(value, `${path}/${key}`);
      }
    };
    walk(composeSchema(FRAGMENTS), '');
    expect(missing).toEqual([]);
  });

  it('is the same text for any order of checks', () => {
    expect(schemaText([...FRAGMENTS].reverse())).toBe(schemaText(FRAGMENTS));
  });

  it('refuses fragments that are at fault', () => {
    expect(() => composeSchema([])).toThrow('no checks');
    expect(() => composeSchema([fragment({}), fragment({})])).toThrow('two checks are called a');
    expect(() => composeSchema([fragment({ id: 'aB' })])).toThrow('kebab case');
    expect(() => composeSchema([fragment({ properties: { min: {} } })])).toThrow(
      'option "min" of a has no description',
    );
    expect(() => composeSchema([fragment({ properties: { zone: { description: 'x' } } })])).toThrow('is a common key');
    expect(() => composeSchema([fragment({ schema: { properties: {}, required: ['min'] } })])).toThrow(
      'requires "min"',
    );
  });

  it('is written whole, with nothing left beside it', async () => {
    const folder = await mkdtemp(join(tmpdir(), 'schema-'));
    await writeSchema(join(folder, 's.json'), FRAGMENTS);
    expect(await readFile(join(folder, 's.json'), 'utf8')).toBe(schemaText(FRAGMENTS));
    expect(await readdir(folder)).toEqual(['s.json']);
    await rm(folder, { recursive: true });
  });
});
