import { existsSync, readdirSync } from 'node:fs';
import { join, resolve } from 'node:path';

/**
 * Small open samples made by many writers. They do not belong to the project: set CLOUDASSAY_REAL_CLOUDS to their folder, or
 * keep them in a folder clouds/real of a neighbour of the project. Where they are missing the tests of `who` are skipped, and
 * say so.
 */
export function realClouds(who: string): string | null {
  const named = process.env.CLOUDASSAY_REAL_CLOUDS;
  if (named) return named;
  const parent = resolve('..');
  for (const entry of readdirSync(parent)) {
    const folder = join(parent, entry, 'clouds', 'real');
    if (existsSync(folder)) return folder;
  }
  console.warn(`${who}: no folder of real samples found, its tests are skipped`);
  return null;
}
