import { Ajv2020 } from 'ajv/dist/2020.js';
import { composeSchema } from './compose.js';
import type { CheckFragment } from './schema-fragment.js';

/**
 * A validator of acceptance specs, compiled from their schema. That takes a third of a second for all checks, so the
 * build does it (src/build.mjs) and the program loads the code that comes out. Only the build and tests use this module.
 */
export function compileValidator(fragments: readonly CheckFragment[]) {
  const ajv = new Ajv2020({
    allErrors: true,
    verbose: true,
    discriminator: true,
    strict: true,
    // The schema is ours: tests hold it against the rules of JSON Schema, which takes longer than all the rest.
    validateSchema: false,
    // Both would refuse `anyOf: [{ required }]` and the `if` of the passes, which are sound.
    strictRequired: false,
    strictTypes: false,
    code: { source: true, esm: true },
  });
  return { ajv, validate: ajv.compile(composeSchema(fragments)) };
}
