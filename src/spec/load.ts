import { createHash } from 'node:crypto';
import { basename } from 'node:path';
import type { ErrorObject } from 'ajv';
import builtValidator, { checks as checksOfBuilt } from '#spec-validator';
import { Fault } from '../fault.js';
import {
  type AcceptanceSpec,
  PASS_CRITERIA,
  type PassCriterion,
  type SpecPasses,
  type SpecRequirement,
} from './acceptance-spec.js';
import { readInputFile } from './input-file.js';
import { type JsonText, parseJson } from './json-text.js';
import { problemsOf, type SpecProblem } from './problems.js';
import type { CheckFragment } from './schema-fragment.js';

/** Fault of an invalid spec, with all its errors in the order of the file. */
export class SpecFault extends Fault {
  readonly problems: readonly string[];

  constructor(where: string, problems: readonly string[]) {
    const count = problems.length === 1 ? '1 problem' : `${problems.length} problems`;
    super({
      code: 'spec-invalid',
      what: `${count} in the acceptance spec\n${problems.map((problem) => `  - ${problem}`).join('\n')}`,
      where,
    });
    this.problems = problems;
  }
}

/** Says whether a value is a spec; the errors of the last one that is not are in `errors`. */
export interface SpecValidator {
  (value: unknown): boolean;
  errors?: ErrorObject[] | null;
}

/**
 * Reads an acceptance spec from a file.
 *
 * @param fragments options of the checks that can be used
 * @param plannedCheckIds checks that have a name but cannot be judged by this version
 * @param validate the validator of these fragments, where they are not those of all checks
 * @throws Fault `file-missing`, `file-unreadable`, `file-too-large`, `json-syntax`; SpecFault `spec-invalid` with all problems
 */
export async function loadSpec(
  path: string,
  fragments: readonly CheckFragment[],
  plannedCheckIds: readonly string[] = [],
  validate?: SpecValidator,
): Promise<AcceptanceSpec> {
  const bytes = await readInputFile(path, 'acceptance spec');
  return parseSpec(bytes, path, fragments, plannedCheckIds, validate);
}

/**
 * As loadSpec, of bytes or text at hand. `where` names the source in messages; its base name becomes `file`.
 *
 * @throws Fault `json-syntax`; SpecFault `spec-invalid`
 */
export function parseSpec(
  bytes: Uint8Array | string,
  where: string,
  fragments: readonly CheckFragment[],
  plannedCheckIds: readonly string[] = [],
  validate: SpecValidator = validatorOf(fragments),
): AcceptanceSpec {
  const raw = typeof bytes === 'string' ? new TextEncoder().encode(bytes) : bytes;
  const json = parseJson(decode(raw, where), where, true);
  const valid = validate(json.value);
  const ofSchema = valid ? [] : problemsOf(validate.errors ?? [], { fragments, planned: plannedCheckIds });
  const problems = [...ofSchema, ...doubledIds(json.value)];
  if (problems.length > 0) throw new SpecFault(where, inFileOrder(problems, json));
  const spec = json.value as StoredSpec;
  return {
    title: spec.title,
    crs: {
      horizontal: spec.crs?.horizontal ?? null,
      vertical: spec.crs?.vertical ?? null,
      unit: spec.crs?.unit ?? null,
    },
    passes: passesOf(spec.passes ?? { by: 'point-source-id' }),
    requirements: spec.requirements.map((requirement) => withDefaults(requirement, fragments)),
    sha256: createHash('sha256').update(raw).digest('hex'),
    file: basename(where),
  };
}

/** The spec as stored, once it has been found valid. */
interface StoredSpec {
  title: string;
  crs?: { horizontal?: string; vertical?: string; unit?: string };
  passes?: StoredPasses;
  requirements: (Partial<SpecRequirement> & { id: string; check: string })[];
}

interface StoredPasses {
  by: PassCriterion | readonly PassCriterion[];
  gap?: number;
}

/** The order in which criteria are written has no meaning: they are sorted, so that it changes no report. */
function passesOf({ by, gap }: StoredPasses): SpecPasses {
  const named = PASS_CRITERIA.filter((criterion) =>
    typeof by === 'string' ? by === criterion : by.includes(criterion),
  );
  return gap === undefined ? { by: named } : { by: named, gap };
}

function decode(bytes: Uint8Array, where: string): string {
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch (error) {
    throw new Fault(
      {
        code: 'json-syntax',
        what: 'the file is not UTF-8 text',
        where,
        advice: 'Save it as UTF-8 in the editor',
      },
      error,
    );
  }
}

/** The validator that was built. @throws RangeError where the checks are others than those it was built for: a mistake of ours */
function validatorOf(fragments: readonly CheckFragment[]): SpecValidator {
  const ids = fragments.map(({ id }) => id).sort();
  if (ids.join() !== checksOfBuilt.join()) throw new RangeError('the validator was built for other checks');
  return builtValidator;
}

function requirementsOf(value: unknown): unknown[] {
  const list = (value as { requirements?: unknown } | null)?.requirements;
  return Array.isArray(list) ? list : [];
}

function idOf(requirement: unknown): string | null {
  const id = (requirement as { id?: unknown } | null)?.id;
  return typeof id === 'string' && id !== '' ? id : null;
}

function doubledIds(value: unknown): SpecProblem[] {
  const first = new Map<string, number>();
  const problems: SpecProblem[] = [];
  requirementsOf(value).forEach((requirement, index) => {
    const id = idOf(requirement)?.trim();
    if (id === undefined) return;
    const earlier = first.get(id);
    if (earlier === undefined) first.set(id, index);
    else {
      const text = `the id "${id}" is already used by requirements[${earlier}]; every requirement needs its own`;
      problems.push({ pointer: `/requirements/${index}/id`, text });
    }
  });
  return problems;
}

function inFileOrder(problems: readonly SpecProblem[], json: JsonText): string[] {
  const placed = problems.map(({ pointer, text }) => ({ pointer, text, place: json.placeOf(pointer) }));
  placed.sort(
    (a, b) =>
      (a.place?.line ?? 0) - (b.place?.line ?? 0) ||
      (a.place?.column ?? 0) - (b.place?.column ?? 0) ||
      (a.text < b.text ? -1 : 1),
  );
  return placed.map(({ pointer, text, place }) => {
    const line = place ? `line ${place.line}, ` : '';
    return `${line}${pathName(pointer, json.value)}: ${text}`;
  });
}

/** `requirements[2].maxRmse (ACC-V)` from `/requirements/2/maxRmse`. */
function pathName(pointer: string, value: unknown): string {
  if (pointer === '') return 'the spec';
  const parts = pointer.slice(1).split('/');
  let path = '';
  for (const part of parts) {
    const key = part.replaceAll('~1', '/').replaceAll('~0', '~');
    if (/^\d+$/.test(key)) path += `[${key}]`;
    else path += path === '' ? key : `.${key}`;
  }
  const id = parts[0] === 'requirements' && parts.length > 1 ? idOf(requirementsOf(value)[Number(parts[1])]) : null;
  return id ? `${path} (${id})` : path;
}

function withDefaults(
  requirement: StoredSpec['requirements'][number],
  fragments: readonly CheckFragment[],
): SpecRequirement {
  const properties = fragments.find((fragment) => fragment.id === requirement.check)?.schema.properties ?? {};
  const defaults: Record<string, unknown> = {};
  for (const [key, property] of Object.entries(properties)) {
    if (property.default !== undefined) defaults[key] = structuredClone(property.default);
  }
  return { level: 'mandatory', decision: 'simple', ...defaults, ...requirement };
}
