import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';

const root = join(import.meta.dirname, '../..');

/** Scripts outside the tests that import single modules of the build, which no compiler looks at. */
const scripts = ['fuzz', 'bench'].flatMap((folder) =>
  readdirSync(join(root, 'tests', folder))
    .filter((name) => /\.m?js$/.test(name))
    .map((name) => `tests/${folder}/${name}`),
);

/** Names that a script imports from a module of the build, and the source of that module. */
function importsOf(script: string): { name: string; source: string }[] {
  const text = readFileSync(join(root, script), 'utf8');
  return [...text.matchAll(/import \{([^}]+)\} from '\.\.\/\.\.\/dist\/((?:src|test-clouds)\/[^']+)\.js'/g)].flatMap(
    ([, names, path]) =>
      names
        .split(',')
        .map((name) => name.trim().split(' as ')[0])
        .filter((name) => name !== '')
        .map((name) => ({ name, source: `${path}.ts` })),
  );
}

describe('scripts that import modules of the build', () => {
  it('find every name they import', () => {
    const imported = scripts.flatMap(importsOf);
    expect(imported.length).toBeGreaterThan(20);
    const missing = imported.filter(({ name, source }) => {
      const text = readFileSync(join(root, source), 'utf8');
      const declared = new RegExp(`export (?:async )?(?:abstract )?(?:function\\*?|class|const|let) ${name}\\b`);
      const listed = new RegExp(`export \\{[^}]*\\b${name}\\b[^}]*\\}`);
      return !declared.test(text) && !listed.test(text);
    });
    expect(missing).toEqual([]);
  });
});
