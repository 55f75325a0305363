import type { SpecValidator } from './load.js';

/** The validator of acceptance specs with all checks; src/build.mjs writes it to dist/src/spec. */
declare const validate: SpecValidator;
export default validate;
/** Ids of the checks it knows, sorted. */
export declare const checks: readonly string[];
