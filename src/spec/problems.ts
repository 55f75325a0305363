import type { ErrorObject } from 'ajv';
import type { CheckFragment } from './schema-fragment.js';
import { nearest } from './suggest.js';

/** What is wrong at one place of the spec; `pointer` is a JSON pointer (RFC 6901) to a value that is there. */
export interface SpecProblem {
  pointer: string;
  text: string;
}

/** Names of checks: available ones, and ones that are planned but not available in this version. */
export interface CheckNames {
  fragments: readonly CheckFragment[];
  planned: readonly string[];
}

/** Turns errors of the schema validator into sentences for the author of the spec. */
export function problemsOf(errors: readonly ErrorObject[], names: CheckNames): SpecProblem[] {
  const problems: SpecProblem[] = [];
  for (const error of errors) {
    const text = isEcho(error) ? null : sentence(error, names);
    if (text) problems.push({ pointer: pointerOf(error), text });
  }
  return problems;
}

/** Errors that only repeat another, clearer error. */
function isEcho(error: ErrorObject): boolean {
  if (error.keyword === 'if') return true;
  if (/\/(anyOf|oneOf)\/\d+\//.test(error.schemaPath)) return true;
  // A requirement without `check` is reported as a missing key already.
  return error.keyword === 'discriminator' && error.params.error === 'tag' && error.params.tagValue === undefined;
}

/** Points at the offending key itself where there is one. */
function pointerOf(error: ErrorObject): string {
  if (error.keyword === 'additionalProperties') {
    const key = String(error.params.additionalProperty).replaceAll('~', '~0').replaceAll('/', '~1');
    return `${error.instancePath}/${key}`;
  }
  return error.keyword === 'discriminator' ? `${error.instancePath}/${error.params.tag}` : error.instancePath;
}

function sentence(error: ErrorObject, names: CheckNames): string {
  const { keyword, params, data } = error;
  const parent = (error.parentSchema ?? {}) as SchemaPart;
  const found = `found ${show(data)}`;
  switch (keyword) {
    case 'additionalProperties':
      return unknownKey(String(params.additionalProperty), parent);
    case 'required':
      if (error.schemaPath.includes('/then/'))
        return 'the key "gap" is missing: seconds without points, after which a new pass begins';
      return missingKey(String(params.missingProperty), parent, names);
    case 'discriminator':
      return wrongCheck(params.tagValue, names);
    case 'false schema':
      return '"gap" is only used for passes by gps-time-gap; remove it';
    case 'type':
      return `must be ${kindName(String(params.type))}, ${found}${hint(params.type, data)}${meaning(parent)}`;
    case 'enum':
      return oneOf((params.allowedValues as unknown[]).map(String), data, parent);
    case 'const':
      return `must be ${show(params.allowedValue)}, ${found}${meaning(parent)}`;
    case 'minimum':
      return `must be at least ${params.limit}, ${found}${meaning(parent)}`;
    case 'maximum':
      return `must be at most ${params.limit}, ${found}${meaning(parent)}`;
    case 'exclusiveMinimum':
      return `must be greater than ${params.limit}, ${found}${meaning(parent)}`;
    case 'exclusiveMaximum':
      return `must be less than ${params.limit}, ${found}${meaning(parent)}`;
    case 'minLength':
      return `must not be empty${meaning(parent)}`;
    case 'minItems':
      return `must list at least ${params.limit}, found ${(data as unknown[]).length}${meaning(parent)}`;
    case 'maxItems':
      return `must list at most ${params.limit}, found ${(data as unknown[]).length}${meaning(parent)}`;
    case 'uniqueItems':
      return `lists the same value twice${meaning(parent)}`;
    case 'pattern':
      return `has an invalid form, ${found}${meaning(parent)}`;
    case 'anyOf':
      return atLeastOne(error.schema, parent);
    default:
      return `${error.message ?? 'is not allowed'}, ${found}${meaning(parent)}`;
  }
}

interface SchemaPart {
  description?: string;
  properties?: Record<string, { description?: string; const?: unknown }>;
}

function unknownKey(key: string, parent: SchemaPart): string {
  const allowed = Object.keys(parent.properties ?? {});
  const check = parent.properties?.check?.const;
  const owner = check ? ` of the check ${check}` : '';
  return `unknown key "${key}"${suggestion(key, allowed)} Keys${owner}: ${allowed.join(', ')}`;
}

function missingKey(key: string, parent: SchemaPart, names: CheckNames): string {
  if (key === 'check') return `the key "check" is missing. Checks: ${checkList(names)}`;
  const about = parent.properties?.[key]?.description;
  return `the key "${key}" is missing${about ? ` (${about})` : ''}`;
}

function wrongCheck(name: unknown, names: CheckNames): string {
  if (typeof name !== 'string') return `must be the name of a check, found ${show(name)}. Checks: ${checkList(names)}`;
  if (names.planned.includes(name)) {
    return `the check "${name}" is not available in this version. Checks: ${checkList(names)}`;
  }
  const known = [...names.fragments.map((fragment) => fragment.id), ...names.planned];
  return `unknown check "${name}"${suggestion(name, known)} Checks: ${checkList(names)}`;
}

function oneOf(allowed: string[], data: unknown, parent: SchemaPart): string {
  const guess = typeof data === 'string' ? nearest(data, allowed) : null;
  const near = guess ? `; did you mean "${guess}"?` : '';
  return `must be one of ${allowed.join(', ')}, found ${show(data)}${near}${meaning(parent)}`;
}

function atLeastOne(schema: unknown, parent: SchemaPart): string {
  const entries = Array.isArray(schema) ? (schema as { required?: readonly string[] }[]) : [];
  if (entries.length > 0 && entries.every((entry) => entry.required)) {
    return `at least one of ${entries.map((entry) => entry.required?.join(' with ')).join(', ')} must be given`;
  }
  return `does not fit any of the allowed forms${meaning(parent)}`;
}

function checkList(names: CheckNames): string {
  return names.fragments
    .map((fragment) => fragment.id)
    .sort()
    .join(', ');
}

function suggestion(word: string, candidates: readonly string[]): string {
  const guess = nearest(word, candidates);
  return guess ? `; did you mean "${guess}"?` : '.';
}

function meaning(parent: SchemaPart): string {
  return parent.description ? ` (${parent.description})` : '';
}

function hint(due: unknown, data: unknown): string {
  const asNumber = typeof data === 'string' && /^\s*-?\d+([.,]\d+)?\s*$/.test(data);
  return asNumber && (due === 'number' || due === 'integer')
    ? '; write it without quotes and with a decimal point'
    : '';
}

function kindName(type: string): string {
  const kinds: Record<string, string> = {
    number: 'a number',
    integer: 'a whole number',
    string: 'a text',
    boolean: 'true or false',
    array: 'a list in [ ]',
    object: 'an object in { }',
    null: 'null',
  };
  return type
    .split(',')
    .map((one) => kinds[one] ?? one)
    .join(' or ');
}

function show(value: unknown): string {
  if (Array.isArray(value)) return 'a list';
  if (value !== null && typeof value === 'object') return 'an object';
  return JSON.stringify(value) ?? 'nothing';
}
