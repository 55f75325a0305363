import { rename, writeFile } from 'node:fs/promises';
import { composeSchema } from './compose.js';
import type { CheckFragment } from './schema-fragment.js';

/** The published schema as text: two spaces of indent, a line break at the end, the same bytes for any order of checks. */
export function schemaText(fragments: readonly CheckFragment[]): string {
  return `${JSON.stringify(composeSchema(fragments), null, 2)}\n`;
}

/** Writes the published schema; the old file stays whole until the new one is complete. */
export async function writeSchema(path: string, fragments: readonly CheckFragment[]): Promise<void> {
  const draft = `${path}.tmp-${process.pid}`;
  await writeFile(draft, schemaText(fragments));
  await rename(draft, path);
}
