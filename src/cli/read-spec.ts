import { plural } from '../checks/contract/wording.js';
import { checks } from '../checks/index.js';
import { availablePlannedChecks, fragments } from '../run/check-fragments.js';
import { explainSpec } from '../spec/explain.js';
import { loadSpec } from '../spec/load.js';

/** A spec in plain sentences. */
export async function explain(file: string): Promise<string> {
  const loaded = await loadSpec(file, fragments(), availablePlannedChecks());
  return explainSpec(loaded, new Map(checks.map((check) => [check.id, (r) => check.explain(r)])));
}

/** One line that says that a spec is valid. @throws SpecFault when it is not */
export async function validate(file: string): Promise<string> {
  const loaded = await loadSpec(file, fragments(), availablePlannedChecks());
  return `${file} is valid: ${plural(loaded.requirements.length, 'requirement')}, SHA-256 ${loaded.sha256}\n`;
}
