import type { AnyCheck, Verdict } from '../../src/checks/contract/check.js';
import { refuseUndeclared } from '../../src/checks/contract/metric.js';
import type { Crs } from '../../src/cloud/crs.js';
import type { Header } from '../../src/cloud/header.js';
import type { DeliveredFile, DeliveryFacts } from '../../src/delivery/delivery.js';
import type { SurveyPoint } from '../../src/delivery/survey-points.js';
import type { SurveySamples } from '../../src/measure/survey-samples.js';
import { fragments } from '../../src/run/check-fragments.js';
import type { SpecRequirement } from '../../src/spec/acceptance-spec.js';
import { parseSpec } from '../../src/spec/load.js';

/** A requirement as the spec loader gives it, defaults filled in. */
export function requirementOf(options: Record<string, unknown>): SpecRequirement {
  const spec = { spec: '1', title: 'test', requirements: [{ id: 'R', ...options }] };
  return parseSpec(JSON.stringify(spec), 'test.json', fragments()).requirements[0];
}

/** Facts of a delivery in which nothing is wrong, with what the test wants otherwise. */
export function deliveryOf(more: Partial<DeliveryFacts> = {}): DeliveryFacts {
  return {
    files: [],
    passes: [
      { key: 1, label: 'source 1', points: 1000 },
      { key: 2, label: 'source 2', points: 1000 },
      { key: 3, label: 'source 3', points: 1000 },
    ],
    passRule: { by: ['point-source-id'] },
    surveyPoints: null,
    zones: [],
    tileIndex: null,
    declaredCrs: { horizontal: null, vertical: null, unit: null },
    sample: null,
    transfer: null,
    trajectory: null,
    route: null,
    ...more,
  };
}

/** Judges literal facts, named as the check asks for them, through the same defaults as in a run. */
export function judge<Judging extends AnyCheck>(
  check: Judging,
  options: Record<string, unknown>,
  facts: Parameters<Judging['judge']>[0],
  delivery: Partial<DeliveryFacts> = {},
): Verdict {
  const verdict = check.judge(facts, requirementOf({ check: check.id, ...options }), {
    delivery: deliveryOf(delivery),
  });
  refuseUndeclared(check.id, check.metrics, verdict);
  if (verdict.state === 'pass' && Object.keys(verdict.measured).length === 0)
    throw new Error('a pass without a measured figure');
  return verdict;
}

/** A square zone from corner to corner, metres. */
export function squareZone(name: string, x0: number, y0: number, x1: number, y1: number) {
  return { name, polygons: [{ outer: Float64Array.of(x0, y0, x1, y0, x1, y1, x0, y1, x0, y0), holes: [] }] };
}

export function surveyPoint(id: string, more: Partial<SurveyPoint> = {}): SurveyPoint {
  const nothing = {
    cloudX: null,
    cloudY: null,
    cloudZ: null,
    sigmaH: null,
    sigmaV: null,
    target: null,
    targetSize: null,
  };
  return { id, role: 'check', x: 0, y: 0, z: 0, surface: 'hard', ...nothing, ...more };
}

/** A readable file with a plain header; `header` and `crs` take what a test wants otherwise. */
export function fileOf(
  name: string,
  index: number,
  more: { header?: Partial<Header>; crs?: Partial<Crs> | null; fault?: string } = {},
): DeliveredFile {
  const header = {
    versionMajor: 1,
    versionMinor: 4,
    pointFormat: 6,
    pointCount: 100,
    pointsByReturn: [100, ...new Array<number>(14).fill(0)],
    scale: [0.001, 0.001, 0.001],
    offset: [0, 0, 0],
    min: [0, 0, 0],
    max: [10, 10, 1],
    gpsTimeMin: null,
    gpsTimeMax: null,
    ...more.header,
  } as unknown as Header;
  const crs =
    more.crs === null
      ? null
      : ({
          state: 'known',
          horizontal: {
            name: 'ETRS89 / UTM zone 32N',
            epsg: 25832,
            unit: { name: 'metre', metres: 1 },
            geographic: false,
          },
          vertical: { name: 'DVR90 height', epsg: 5799, unit: { name: 'metre', metres: 1 } },
          problems: [],
          ...more.crs,
        } as unknown as Crs);
  return {
    index,
    name,
    address: `/${name}`,
    bytes: 1,
    format: 'LAS',
    header,
    crs,
    horizontalUnit: 1,
    heightUnit: 1,
    fault: more.fault ?? null,
    faultFacts: more.fault ? { code: 'file-truncated', what: more.fault, where: name } : null,
    damage: [],
    formatIssues: [],
    extraBytes: [],
    copc: null,
  };
}

/** Samples of a cloud around survey points that nothing was found of. */
export const noSamples: SurveySamples = {
  at: () => ({
    found: 0,
    passes: [],
    dx: new Float64Array(0),
    dy: new Float64Array(0),
    dz: new Float64Array(0),
    pass: new Uint8Array(0),
    plane: null,
  }),
};
