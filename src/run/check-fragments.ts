import { checks, plannedChecks } from '../checks/index.js';
import type { CheckFragment } from '../spec/schema-fragment.js';

/** What the spec layer is told of the checks: it imports none itself. */
export function fragments(): (CheckFragment & { canGuard: boolean; wholeFiles: boolean })[] {
  return checks.map(({ id, title, schema, canGuard, wholeFiles }) => ({
    id,
    title: title.pass,
    schema,
    canGuard: canGuard === true,
    wholeFiles: wholeFiles === true,
  }));
}

export function availablePlannedChecks(): string[] {
  return [...plannedChecks];
}
