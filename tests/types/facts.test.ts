import { readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import ts from 'typescript';
import { describe, expect, it } from 'vitest';
import type { Check } from '../../src/checks/contract/check.js';
import { Facts, measurementsBehind } from '../../src/engine/facts.js';
import { refuseWrongParameters } from '../../src/measure/fact-parameters.js';
import { fact, type RequestOf } from '../../src/measure/fact-types.js';
import type { PassPairs } from '../../src/measure/pass-pairs.js';

const root = resolve(import.meta.dirname, '..', '..');
const PASS_AGREEMENT = join(root, 'src', 'checks', 'pass-agreement.ts');
const RIGHT = { voxel: 0.5, minPoints: 10 };

/** Each request has one mistake; the type check of the tests fails on a line where the compiler finds none. */
const mistakes = [
  // @ts-expect-error a misspelt parameter
  () => fact('pass-pairs', { voxel: 0.5, minPoint: 10 }),
  // @ts-expect-error a misspelt optional parameter
  () => fact('pass-pairs', { ...RIGHT, stretches: 4 }),
  // @ts-expect-error a misspelt optional parameter in one of two alternatives
  () => fact('pass-pairs', RIGHT.voxel > 1 ? RIGHT : { ...RIGHT, stretches: 4 }),
  // @ts-expect-error a missing parameter
  () => fact('pass-pairs', { voxel: 0.5 }),
  // @ts-expect-error an unknown fact
  () => fact('pass-pair', RIGHT),
  // @ts-expect-error parameters of a fact that has none
  () => fact('point-counts', { cell: 1 }),
];

/** As above: each of these is a mistake for the compiler only. */
function readsOnlyWhatIsAskedFor(facts: Facts) {
  const needs = () => ({
    compared: fact('pass-pairs', RIGHT),
    times: RIGHT.voxel > 1 ? fact('pass-times', { cell: 1 }) : undefined,
  });
  type Judge = Check<object, typeof needs>['judge'];
  const verdict = { state: 'undetermined', summary: '', measured: {}, limits: {}, evidence: [], advice: [] } as const;
  const judge: Judge = ({ compared }) => ({ ...verdict, evidence: [], advice: [String(compared.voxel)] });
  // @ts-expect-error a fact that was not asked for
  const other: Judge = ({ tracks }) => ({ ...verdict, evidence: [], advice: [String(tracks)] });
  // @ts-expect-error a fact that is asked for in some requirements only may be undefined
  const some: Judge = ({ times }) => ({ ...verdict, evidence: [], advice: [String(times.passes)] });
  // @ts-expect-error a property that the result does not have
  const wrong: Judge = ({ compared }) => ({ ...verdict, evidence: [], advice: [String(compared.cells)] });
  const pairs: PassPairs = facts.get(fact('pass-pairs', RIGHT));
  // @ts-expect-error the result of another fact
  const counts: PassPairs = facts.get(fact('point-counts', null));
  const request: RequestOf<'pass-pairs'> = fact('pass-pairs', RIGHT);
  return { judge, other, some, wrong, pairs, counts, request };
}

/** Errors of the compiler in src/checks/pass-agreement.ts when its text is `text`. */
function compilePassAgreement(text: string): string[] {
  const config = ts.readConfigFile(join(root, 'tsconfig.json'), ts.sys.readFile);
  const { options } = ts.parseJsonConfigFileContent(config.config, ts.sys, root);
  const host = ts.createCompilerHost({ ...options, noEmit: true });
  const readFile = host.readFile.bind(host);
  const getSourceFile = host.getSourceFile.bind(host);
  host.readFile = (name) => (resolve(name) === PASS_AGREEMENT ? text : readFile(name));
  host.getSourceFile = (name, version, ...rest) =>
    resolve(name) === PASS_AGREEMENT
      ? ts.createSourceFile(name, text, version, true)
      : getSourceFile(name, version, ...rest);
  const program = ts.createProgram(
    [PASS_AGREEMENT],
    { ...options, noEmit: true, incremental: false, tsBuildInfoFile: undefined },
    host,
  );
  return program
    .getSemanticDiagnostics(program.getSourceFile(PASS_AGREEMENT))
    .map(({ messageText }) => ts.flattenDiagnosticMessageText(messageText, ' '));
}

describe('requests for facts', () => {
  it('a misspelt parameter in a check does not compile', { timeout: 120_000 }, () => {
    const text = readFileSync(PASS_AGREEMENT, 'utf8');
    expect(compilePassAgreement(text)).toEqual([]);
    const declared =
      'const params = { voxel: r.voxel, minPoints, coordinateStep: coordinateStep(context.delivery), area, ...walls };';
    expect(text).toContain(declared);
    const misspelt = text.replace(declared, 'const params = { voxel: r.voxel, minPoint: minPoints, area, ...walls };');
    expect(compilePassAgreement(misspelt).join(' ')).toContain("'minPoints' is missing");
    const optional = text.replace('stretch: r.stretch }', 'stretches: r.stretch }');
    expect(optional).not.toBe(text);
    expect(compilePassAgreement(optional).join(' ')).toContain('stretches');
  });

  it.each([
    ['a misspelt parameter', { voxel: 0.5, minPoint: 10 }, /pass-pairs has no parameter called minPoint; it has voxel/],
    ['a misspelt optional parameter', { ...RIGHT, stretches: 4 }, /no parameter called stretches/],
    ['a missing parameter', { voxel: 0.5 }, /pass-pairs needs the parameter minPoints/],
    ['no parameters at all', null, /needs the parameter voxel/],
  ])('%s is refused at run time', (_, params, message) => {
    const request = { measurement: 'pass-pairs', params };
    expect(() => measurementsBehind([request])).toThrow(message);
    expect(() => new Facts([]).get(request)).toThrow(message);
  });

  it('an unknown fact is refused at run time', () => {
    expect(() => measurementsBehind([{ measurement: 'pass-pair', params: RIGHT }])).toThrow(
      'no fact is called pass-pair',
    );
  });

  it('the mistakes above are functions that no test calls', () => {
    expect(readsOnlyWhatIsAskedFor).toBeTypeOf('function');
  });

  it('what the compiler refuses is refused at run time as well', () => {
    for (const mistake of mistakes.filter((_, i) => i !== 2))
      expect(() => refuseWrongParameters(mistake())).toThrow(RangeError);
    expect(() => refuseWrongParameters(fact('pass-pairs', { ...RIGHT, area: null, stretch: 4 }))).not.toThrow();
    expect(() => refuseWrongParameters(fact('point-counts', null))).not.toThrow();
  });
});
