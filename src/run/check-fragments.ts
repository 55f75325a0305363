import { checks, plannedChecks } from '../checks/index.js';
import type { CheckFragment } from '../spec/schema-fragment.js';

/** What src/spec must know of every check; it does not import the checks itself. */
export function fragments(): (CheckFragment & { canGuard: boolean; wholeFiles: boolean })[] {
  return checks.map(({ id, title, schema, canGuard, wholeFiles }) => ({
    id,
    title,
    schema,
    canGuard: canGuard === true,
    wholeFiles: wholeFiles === true,
  }));
}

/** Names of checks that a spec may not use yet, because this version does not have them. */
export function availablePlannedChecks(): string[] {
  return [...plannedChecks];
}
