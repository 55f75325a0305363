import { crsRules, strictWktRules } from './crs.js';
import { headerRules } from './header.js';
import { copcRules, lazRules, pointRules } from './packing.js';
import { recordRules } from './records.js';
import type { RuleName, StructureRule } from './rule.js';

/** Every rule of the format that is tested, by its name inside the program. */
export const structureRules: Readonly<Record<RuleName, StructureRule>> = {
  ...headerRules,
  ...recordRules,
  ...crsRules,
  ...strictWktRules,
  ...lazRules,
  ...copcRules,
  ...pointRules,
};

/** The rules in the order of their ids, as the documentation lists them. */
export function rulesById(): StructureRule[] {
  return Object.values(structureRules).sort((a, b) => (a.id < b.id ? -1 : 1));
}
