/** A check's part of the schema, so that the schema of the spec can be composed without importing checks. */
export interface CheckFragment {
  /** The word used under `check` in the spec. */
  id: string;
  title: string;
  schema: FragmentSchema;
}

/** JSON Schema 2020-12 of the options, without the keys that every requirement has. */
interface FragmentSchema {
  /** Every property carries a `description` with its unit; a `default` here is filled in on loading. */
  properties: Record<string, Record<string, unknown>>;
  required: readonly string[];
  /** Given when at least one of several options must be there: one entry an option. */
  anyOf?: readonly { required: readonly string[] }[];
}

/** Keys every requirement has; a check may not use them for its options. */
export const COMMON_KEYS = ['id', 'check', 'zone', 'level', 'decision', 'note'] as const;
