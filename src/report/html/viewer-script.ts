import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

/** Folder of the built viewer: beside this file once built, in the build's folder when running from the sources, as tests do. */
const PLACES = ['./viewer/', '../../../dist/src/report/html/viewer/'];
const ENTRY = 'main.js';

let script: string | undefined;

/**
 * The viewer as one script. Its modules are put one behind the other, each after those it imports, in one scope: a page
 * that loads nothing cannot import, and a bundler would be a dependency for thirty lines. What that needs of the modules is
 * checked here: plain named imports, and no top-level name used twice.
 */
export function viewerScript(): string {
  script ??= joinModules(entryFile());
  return script;
}

function entryFile(): string {
  for (const place of PLACES) {
    const file = fileURLToPath(new URL(place + ENTRY, import.meta.url));
    try {
      readFileSync(file);
      return file;
    } catch {
      // not there: try the other place
    }
  }
  throw new Error('the viewer of the report is not built; run `npm run build`');
}

/** Joins a module of compiled JavaScript and all it imports. */
export function joinModules(
  entry: string,
  read: (file: string) => string = (file) => readFileSync(file, 'utf8'),
): string {
  const bodies = new Map<string, string>();
  const owners = new Map<string, string>();
  const take = (file: string) => {
    if (bodies.has(file)) return;
    bodies.set(file, '');
    const source = read(file);
    for (const address of importsOf(source, file)) take(fileURLToPath(new URL(address, `file://${file}`)));
    const body = bodyOf(source, file);
    for (const name of namesOf(body)) {
      const owner = owners.get(name);
      if (owner)
        throw new Error(`${name} is defined in ${owner} and in ${file}: modules of the viewer share one scope`);
      owners.set(name, file);
    }
    // set again, so that the order is that of completion: what is imported comes first
    bodies.delete(file);
    bodies.set(file, body);
  };
  take(entry);
  return `(() => {\n'use strict';\n${[...bodies.values()].join('')}})();\n`;
}

const IMPORT = /^import\s*(\{[^}]*\}\s*from\s*)?['"]([^'"]+)['"];?\n?/gm;

function importsOf(source: string, file: string): string[] {
  return [...source.matchAll(IMPORT)].map(([statement, , address]) => {
    if (!address.startsWith('.') || /\bas\b/.test(statement))
      throw new Error(`${file}: the viewer cannot take ${statement.trim()}`);
    return address;
  });
}

/** A module without its imports, the word export, comments on lines of their own and the address of its source map. */
function bodyOf(source: string, file: string): string {
  const body = source
    .replace(IMPORT, '')
    .replace(/^export \{\s*\};?\n?/gm, '')
    .replace(/^export (?=(async )?function|const|let|class)/gm, '')
    .replace(/^\s*\/\*[\s\S]*?\*\/\n/gm, '')
    .replace(/^\s*\/\/.*\n?/gm, '');
  const left = /^(?:import|export)\b.*/m.exec(body);
  if (left) throw new Error(`${file}: the viewer cannot take ${left[0]}`);
  return body;
}

function namesOf(body: string): string[] {
  return [...body.matchAll(/^(?:async )?(?:function\*?|class|const|let|var) (\[[^\]]*\]|\{[^}]*\}|[\w$]+)/gm)].flatMap(
    ([, names]) => names.match(/[\w$]+/g) ?? [],
  );
}
