import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { describe, expect, it } from 'vitest';
import { publishedFiles } from '../../src/cli/published.js';
import { availablePlannedChecks, fragments } from '../../src/run/check-fragments.js';
import { loadSpec } from '../../src/spec/load.js';

const root = join(import.meta.dirname, '..', '..');
const specs = join(root, 'specs');

describe('published files', () => {
  it.each(publishedFiles(root))(
    '$path is what the checks say now (npm run generate makes it anew)',
    ({ path, text }) => {
      expect(readFileSync(join(root, path), 'utf8')).toBe(text);
    },
  );

  it('the schema is JSON Schema 2020-12 that a general validator compiles', () => {
    const schema = JSON.parse(readFileSync(join(specs, 'acceptance-spec.schema.json'), 'utf8'));
    const validate = new Ajv2020({ strict: false }).compile(schema);
    expect(validate({ spec: '1', title: 'x', requirements: [{ id: 'D', check: 'density', min: 10 }] })).toBe(true);
    expect(validate({ spec: '1', title: 'x', requirements: [{ id: 'D', check: 'density', mim: 10 }] })).toBe(false);
  });

  const named = readdirSync(specs).filter((file) => file.endsWith('.json') && !file.endsWith('.schema.json'));
  it.each(named)('%s can be used', async (file) => {
    const spec = await loadSpec(join(specs, file), fragments(), availablePlannedChecks());
    expect(spec.requirements.length).toBeGreaterThan(0);
  });
});
