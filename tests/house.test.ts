import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative, resolve } from 'node:path';
import ts from 'typescript';
import { describe, expect, it } from 'vitest';
import { adviceRules } from '../src/checks/advice/index.js';
import { checks, plannedChecks } from '../src/checks/index.js';
import { blockDerivations, derivations, measurements } from '../src/measure/index.js';
import { SHORT_SPREADS } from './short-spreads.js';

const root = resolve(import.meta.dirname, '..');
const src = join(root, 'src');

/** What each room may import from: the arrows of the house. Every room may use what is in EVERYWHERE. */
const ARROWS: Record<string, readonly string[]> = {
  kernel: [],
  geometry: [],
  spec: [],
  simulate: [],
  'report-shape': [],
  cloud: ['kernel'],
  delivery: ['cloud', 'geometry', 'spec'],
  crs: ['cloud', 'delivery'],
  trajectory: ['cloud', 'delivery', 'crs', 'spec'],
  measure: ['kernel', 'cloud', 'delivery', 'geometry'],
  engine: ['kernel', 'cloud', 'delivery', 'measure', 'geometry', 'spec'],
  checks: ['measure', 'delivery', 'geometry', 'cloud', 'report-shape'],
  report: ['checks', 'report-shape'],
  route: ['delivery', 'geometry'],
  assemble: ['engine', 'crs', 'cloud', 'delivery', 'measure', 'checks', 'report', 'spec', 'geometry'],
  run: [
    'route',
    'assemble',
    'engine',
    'trajectory',
    'crs',
    'cloud',
    'delivery',
    'measure',
    'checks',
    'report',
    'spec',
    'geometry',
  ],
  cli: ['run', 'report', 'report-shape', 'spec', 'checks', 'delivery', 'simulate'],
};
/** Modules that every room may use: the vocabulary of errors, where the parts of the package are, making folders, and unfinished files. */
const EVERYWHERE = ['fault.ts', 'built.ts', 'folder.ts', 'temporary-files.ts'].map((file) => join(src, file));
/** Rooms from which only types may be taken. */
const TYPES_ONLY: Record<string, readonly string[]> = {
  delivery: ['cloud'],
  trajectory: ['cloud'],
  report: ['checks'],
  checks: ['cloud', 'report-shape'],
};
/** Node modules that pure rooms must not touch. */
const PURE = ['geometry', 'measure', 'checks', 'report-shape'];

interface Import {
  from: string;
  to: string;
  typeOnly: boolean;
  /** Imported only when it is needed. */
  later?: boolean;
}

function sources(folder: string): string[] {
  return readdirSync(folder, { withFileTypes: true, recursive: true })
    .filter((entry) => entry.isFile() && entry.name.endsWith('.ts') && !entry.parentPath.includes('assembly'))
    .map((entry) => join(entry.parentPath, entry.name))
    .sort();
}

function importsOf(file: string): Import[] {
  const tree = ts.createSourceFile(file, readFileSync(file, 'utf8'), ts.ScriptTarget.ES2022, true);
  const found: Import[] = [];
  tree.forEachChild((node) => {
    const isImport = ts.isImportDeclaration(node);
    if (!isImport && !ts.isExportDeclaration(node)) return;
    if (!node.moduleSpecifier || !ts.isStringLiteral(node.moduleSpecifier)) return;
    const clause = isImport ? node.importClause : undefined;
    const named =
      clause?.namedBindings && ts.isNamedImports(clause.namedBindings) ? clause.namedBindings.elements : null;
    const allTypes =
      named !== null && !clause?.name && named.length > 0 && named.every((element) => element.isTypeOnly);
    const typeOnly = isImport ? clause?.isTypeOnly === true || allTypes : node.isTypeOnly;
    found.push({ from: file, to: node.moduleSpecifier.text, typeOnly });
  });
  return [...found, ...loadedLater(file, tree)];
}

/** By file: the expressions that are spread into the arguments of a call. */
const spreads = new Map<string, string[]>();

/** What is imported only when it is needed: `await import('...')`. Notes on the way what is spread into arguments. */
function loadedLater(file: string, tree: ts.SourceFile): Import[] {
  const found: Import[] = [];
  const spread: string[] = [];
  spreads.set(file, spread);
  const walk = (node: ts.Node) => {
    if (ts.isCallExpression(node) || ts.isNewExpression(node))
      for (const part of node.arguments ?? []) if (ts.isSpreadElement(part)) spread.push(part.expression.getText());
    if (ts.isCallExpression(node) && node.expression.kind === ts.SyntaxKind.ImportKeyword) {
      const [address] = node.arguments;
      found.push({
        from: file,
        to: ts.isStringLiteral(address) ? address.text : '(not a text)',
        typeOnly: false,
        later: true,
      });
    }
    node.forEachChild(walk);
  };
  walk(tree);
  return found;
}

function roomOf(file: string): string {
  const [first, ...rest] = relative(src, file).split('/');
  return rest.length === 0 ? '' : first;
}

const all = sources(src);
const imports = all.flatMap(importsOf);
const inner = imports
  .filter(({ to }) => to.startsWith('.'))
  .map((i) => ({ ...i, target: resolve(dirname(i.from), i.to).replace(/\.js$/, '.ts') }));

describe('the arrows of the house', () => {
  it('every room is in the table', () => {
    const rooms = new Set(all.map(roomOf).filter((room) => room !== ''));
    expect([...rooms].sort()).toEqual(Object.keys(ARROWS).sort());
  });

  it('no room imports from a room it may not know', () => {
    const wrong = inner.filter(({ from, target }) => {
      const [a, b] = [roomOf(from), roomOf(target)];
      if (a === '' || a === b || EVERYWHERE.includes(target)) return false;
      return !ARROWS[a].includes(b);
    });
    expect(wrong.map(({ from, to }) => `${relative(root, from)} -> ${to}`)).toEqual([]);
  });

  it('where only types may be taken, only types are', () => {
    const wrong = inner.filter(({ from, target, typeOnly }) => {
      const allowed = TYPES_ONLY[roomOf(from)]?.includes(roomOf(target)) === true;
      return allowed && !typeOnly && roomOf(from) !== roomOf(target);
    });
    expect(wrong.map(({ from, to }) => `${relative(root, from)} -> ${to}`)).toEqual([]);
  });

  it('files do not import one another in a circle, not even for types', () => {
    const next = new Map<string, string[]>();
    // A command is loaded when it runs, and takes the type of its options from where it is declared.
    for (const { from, target, later } of inner) if (!later) next.set(from, [...(next.get(from) ?? []), target]);
    const done = new Set<string>();
    const circles: string[] = [];
    const walk = (file: string, path: string[]) => {
      if (path.includes(file))
        circles.push([...path.slice(path.indexOf(file)), file].map((f) => relative(src, f)).join(' -> '));
      if (done.has(file) || path.includes(file)) return;
      for (const target of next.get(file) ?? []) walk(target, [...path, file]);
      done.add(file);
    };
    for (const file of all) walk(file, []);
    expect(circles).toEqual([]);
  });

  it('only lists that are short whatever is delivered are spread into the arguments of a call', () => {
    const unknown: string[] = [];
    const used = new Set<string>();
    for (const [file, expressions] of spreads) {
      if (roomOf(file) === 'simulate') continue;
      const name = relative(src, file);
      for (const spread of expressions) {
        const short = SHORT_SPREADS[name]?.find((begin) => spread.startsWith(begin));
        if (short === undefined) unknown.push(`${name}: ...${spread}`);
        else used.add(`${name}: ${short}`);
      }
    }
    expect(unknown).toEqual([]);
    const listed = Object.entries(SHORT_SPREADS).flatMap(([name, all]) => all.map((begin) => `${name}: ${begin}`));
    expect([...used].sort()).toEqual(listed.sort());
  });

  it('the report computes nothing: outside its drawings it has no statistics of its own', () => {
    const statistics = /Math\.(sqrt|hypot|pow|exp|log|atan2|sin|cos)\(|\b(mean|median|percentile|rmse|nmad)\(/;
    const wrong = all
      .filter((file) => roomOf(file) === 'report' && !relative(src, file).startsWith('report/html/'))
      .filter((file) => statistics.test(readFileSync(file, 'utf8')));
    expect(wrong.map((file) => relative(root, file))).toEqual([]);
  });

  it('the command line holds no logic: short files, and nothing of clouds, measurements or the engine', () => {
    const long = all
      .filter((file) => roomOf(file) === 'cli')
      .filter((file) => readFileSync(file, 'utf8').split('\n').length > 120);
    expect(long.map((file) => relative(root, file))).toEqual([]);
    for (const room of ['cloud', 'measure', 'engine', 'crs', 'geometry', 'kernel', 'assemble'])
      expect(ARROWS.cli).not.toContain(room);
  });

  it('measurements, checks and geometry touch neither files, threads, network nor clock', () => {
    const wrong = imports.filter(({ from, to }) => PURE.includes(roomOf(from)) && to.startsWith('node:'));
    const clocks = all
      .filter((file) => PURE.includes(roomOf(file)))
      .filter((file) =>
        /Date\.now|new Date\(\)|performance\.now|Math\.random|console\./.test(readFileSync(file, 'utf8')),
      );
    expect([
      ...wrong.map((w) => `${relative(root, w.from)} -> ${w.to}`),
      ...clocks.map((f) => relative(root, f)),
    ]).toEqual([]);
  });

  it('map projections are computed in src/crs only, and nowhere is an import worked out while running', () => {
    const wrong = imports.filter(({ from, to }) => to === '(not a text)' || (to === 'proj4' && roomOf(from) !== 'crs'));
    expect(wrong.map(({ from, to }) => `${relative(root, from)} -> ${to}`)).toEqual([]);
  });

  it('nothing below the command line ends the process or writes to the console', () => {
    const wrong = all
      .filter((file) => roomOf(file) !== 'cli')
      .filter((file) => /process\.exit|console\.(log|error)|process\.std(out|err)/.test(readFileSync(file, 'utf8')));
    expect(wrong.map((file) => relative(root, file))).toEqual([]);
  });

  it('the top level holds what was agreed and nothing else', () => {
    const agreed = [
      'CHANGELOG.md',
      'DEVELOPERS.md',
      'LICENSE',
      'README.md',
      'bin',
      'package-lock.json',
      'package.json',
      'specs',
      'src',
      'test-clouds',
      'tests',
    ];
    const ignored = ['node_modules', 'dist', 'out', 'demo-delivery', 'coverage'];
    const found = readdirSync(root).filter((name) => !name.startsWith('.') && !ignored.includes(name));
    const configs = found.filter((name) => /^(tsconfig.*|biome|vitest\.config)\.(json|ts)$/.test(name));
    expect(found.filter((name) => !configs.includes(name)).sort()).toEqual(agreed.sort());
  });
});

describe.each(checks.map((check) => [check.id, check] as const))('check %s', (id, check) => {
  it('is a file of that name, with a test of that name', () => {
    expect(existsSync(join(src, 'checks', `${id}.ts`))).toBe(true);
    expect(existsSync(join(root, 'tests', 'checks', `${id}.test.ts`))).toBe(true);
  });

  it('says why it exists, where its rule comes from, and describes every option', () => {
    expect(check.title).toMatch(/^[A-Z0-9][^.]{5,60}$/);
    expect(check.why.length).toBeGreaterThan(30);
    expect(check.sources.length).toBeGreaterThan(0);
    expect(Object.keys(check.metrics).length).toBeGreaterThan(0);
    for (const [name, { label, limit }] of Object.entries(check.metrics)) {
      expect(label, `${id}.${name}`).toMatch(/\w{2}/);
      if (limit?.source === 'option')
        expect(check.schema.properties[limit.option]?.type, `${id}.${name}`).toMatch(/^(number|integer)$/);
    }
    for (const [name, option] of Object.entries(check.schema.properties)) {
      expect(String(option.description ?? ''), `${id}.${name}`).toMatch(/\w{3}/);
    }
    for (const name of check.schema.required) expect(Object.keys(check.schema.properties)).toContain(name);
  });

  it('is in the published schema and no longer among the planned ones', () => {
    const schema = readFileSync(join(root, 'specs', 'acceptance-spec.schema.json'), 'utf8');
    expect(schema).toContain(`"const": "${id}"`);
    expect(plannedChecks).not.toContain(id);
  });
});

describe.each(adviceRules.map((rule) => [rule.id, rule] as const))('rule %s', (id, rule) => {
  it('is a file of that name, with a test of that name', () => {
    expect(existsSync(join(src, 'checks', 'advice', `${id}.ts`))).toBe(true);
    expect(existsSync(join(root, 'tests', 'checks', 'advice', `${id}.test.ts`))).toBe(true);
  });

  it('says what it sees, why, and where it comes from', () => {
    expect(rule.title.length).toBeGreaterThan(10);
    expect(rule.why).toMatch(/^[A-Z].{30,}\.$/);
    expect(rule.sources.length).toBeGreaterThan(0);
    expect(adviceRules.filter((other) => other.id === id)).toHaveLength(1);
  });
});

describe('measurements', () => {
  it.each([...measurements, ...derivations, ...blockDerivations].map((m) => [m.id]))(
    '%s is a file of that name, with a test of that name',
    (id) => {
      expect(existsSync(join(src, 'measure', `${id}.ts`))).toBe(true);
      expect(existsSync(join(root, 'tests', 'measure', `${id}.test.ts`))).toBe(true);
    },
  );

  it('no two have the same name', () => {
    const ids = [...measurements, ...derivations, ...blockDerivations].map((m) => m.id);
    expect(new Set(ids).size).toBe(ids.length);
  });
});
