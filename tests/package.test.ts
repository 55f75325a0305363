import { execFileSync } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import ts from 'typescript';
import { beforeAll, describe, expect, it } from 'vitest';

const root = join(import.meta.dirname, '..');

describe('the package', () => {
  let files: string[] = [];
  // What npm itself would pack; without scripts, for the build was made before this run.
  beforeAll(() => {
    const json = execFileSync('npm', ['pack', '--dry-run', '--json', '--ignore-scripts'], {
      cwd: root,
      encoding: 'utf8',
      stdio: ['ignore', 'pipe', 'ignore'],
    });
    files = (JSON.parse(json) as [{ files: { path: string }[] }])[0].files.map(({ path }) => path);
  });

  it('holds what runs, the specs, the declarations and what there is to read, and nothing else', () => {
    const parts = /^dist\/part-[A-Z0-9]{8}\.js$/;
    const listed = files.filter((path) => !parts.test(path) && !/^(specs|dist\/types)\//.test(path));
    expect(listed.sort()).toEqual(
      [
        'CHANGELOG.md',
        'LICENSE',
        'README.md',
        'bin/cloudassay.js',
        'dist/bundled-packages.txt',
        'dist/cli.js',
        'dist/command-thread.js',
        'dist/index.js',
        'dist/laz.wasm',
        'dist/loops.wasm',
        'dist/viewer.js',
        'dist/voxels.wasm',
        'dist/worker.js',
        'package.json',
      ].sort(),
    );
    const specs = readdirSync(join(root, 'specs')).map((name) => `specs/${name}`);
    expect(files.filter((path) => path.startsWith('specs/')).sort()).toEqual(specs.sort());
    expect(files.filter((path) => path.startsWith('dist/types/') && !path.endsWith('.d.ts'))).toEqual([]);
  });

  it('holds every part that a script in it imports, and no part that none does', () => {
    const scripts = files.filter((path) => /^dist\/[^/]*\.js$/.test(path));
    const parts = scripts.flatMap((path) => importsOf(path)).filter(({ to }) => to.startsWith('./'));
    const entries = ['dist/cli.js', 'dist/command-thread.js', 'dist/index.js', 'dist/viewer.js', 'dist/worker.js'];
    expect(scripts.sort()).toEqual([...new Set([...entries, ...parts.map(({ to }) => inDist(to))])].sort());
  });

  it('imports every package that it names as a dependency, and no other', () => {
    const { dependencies } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8'));
    const scripts = files.filter((path) => /^dist\/[^/]*\.js$/.test(path));
    const packages = scripts.flatMap((path) => importsOf(path)).flatMap(({ to }) => packageOf(to) ?? []);
    expect([...new Set(packages)].sort()).toEqual(Object.keys(dependencies).sort());
  });

  it('loads no package but commander, and no WebAssembly, before a command runs', () => {
    const loaded = new Set<string>();
    const load = (path: string) => {
      if (loaded.has(path)) return;
      loaded.add(path);
      for (const { to, later } of importsOf(path)) if (!later && to.startsWith('./')) load(inDist(to));
    };
    load('dist/cli.js');
    load('dist/command-thread.js');
    const imported = [...loaded].flatMap(importsOf).flatMap(({ to, later }) => (later ? [] : (packageOf(to) ?? [])));
    expect(imported).toEqual([]);
    const texts = [...loaded].map((path) => readFileSync(join(root, path), 'utf8')).join('\n');
    expect(texts).not.toContain('WebAssembly');
    // The bundler names the file that a piece comes from in a comment before it.
    const bundled = [...texts.matchAll(/^\s*\/\/ node_modules\/((?:@[^/]+\/)?[^/]+)\//gm)].map(([, name]) => name);
    expect([...new Set(bundled)]).toEqual(['commander']);
  });
});

const inDist = (address: string) => address.replace(/^\.\//, 'dist/');

/** Name of the package that an address is about; null for a file of our own and a module of Node.js. */
function packageOf(address: string): string | null {
  if (address.startsWith('.') || address.startsWith('node:')) return null;
  return address.split('/', address.startsWith('@') ? 2 : 1).join('/');
}

/** Addresses that a script imports, at once or later. */
function importsOf(path: string): { to: string; later: boolean }[] {
  const text = readFileSync(join(root, path), 'utf8');
  const { importedFiles } = ts.preProcessFile(text, true, true);
  return importedFiles.map(({ fileName, pos }) => ({
    to: fileName,
    later: /\bimport\(\s*["']?$/.test(text.slice(Math.max(0, pos - 20), pos)),
  }));
}
