import { createBatch, type PointBatch } from '../../src/cloud/columns.js';
import type { DeliveredFile } from '../../src/delivery/delivery.js';
import { BlockStore } from '../../src/engine/block-store.js';
import { assignedMeasurements, Facts, measurementsBehind } from '../../src/engine/facts.js';
import { type PassAssignment, type SpanTask, unmeasuredResult } from '../../src/engine/job.js';
import { createMeasuredBatch, scaleToWorld } from '../../src/engine/scale-to-world.js';
import type { FactRequest } from '../../src/measure/contract/measurement.js';
import { type FactRequests, type ResultOf, type ResultsOf, requestList } from '../../src/measure/fact-types.js';
import { measurementById } from '../../src/measure/index.js';
import type { SceneColumns } from '../../src/simulate/writer/point-columns.js';

export interface MeasureOptions {
  /** Metres in one unit of the points, plan and height. */
  horizontalUnit?: number;
  heightUnit?: number;
  /** Step of the stored coordinates, in their unit; 0.0001 by default. */
  scale?: number;
  passes?: PassAssignment;
  /** Points a batch. */
  block?: number;
  /** Ordinal of the file of each point; all in file 0 by default. */
  fileOf?: (index: number) => number;
}

const COLUMNS = new Set([
  'xyz',
  'intensity',
  'returns',
  'flags',
  'classification',
  'scannerChannel',
  'scanAngle',
  'pointSourceId',
  'gpsTime',
] as const);

const ANYWHERE = { index: 0, header: null } as DeliveredFile;
const WHOLE: SpanTask = { file: 0, span: { first: 0, points: 0, pieces: [] } as unknown as SpanTask['span'] };

/** The results of `requests`, in their order, from the points of a scene; measured as below. */
export function measureScene<const Requests extends readonly FactRequest[]>(
  points: SceneColumns,
  requests: Requests,
  options: MeasureOptions = {},
): { -readonly [Index in keyof Requests]: ResultOf<Requests[Index]> } {
  const results = measureFacts(points, Object.fromEntries(requests.entries()), options);
  return requests.map((_, index) => results[index]) as never;
}

/** Measures the points of a scene as a run does, without files: quantised, in blocks, every measurement fed. */
export function measureFacts<Requests extends FactRequests>(
  points: SceneColumns,
  named: Requests,
  options: MeasureOptions = {},
): ResultsOf<Requests> {
  const requests = requestList(named);
  const facts = readScene(points, requests, options);
  const again = facts.secondReadingRequests(requests);
  if (again.length > 0) facts.addSecondReading(readScene(points, again, options));
  return facts.getAll(named);
}

function readScene(points: SceneColumns, requests: readonly FactRequest[], options: MeasureOptions): Facts {
  const { horizontalUnit = 1, heightUnit = 1, scale = 0.0001, passes = { by: ['point-source-id'] } } = options;
  const size = options.block ?? 16_384;
  const wanted = measurementsBehind(requests);
  const measurements = assignedMeasurements(wanted, requests);
  const areas = new BlockStore(measurements, [WHOLE], [ANYWHERE]);
  const facts = new Facts(wanted, areas);
  const states = wanted.map(({ measurement, params }) => measurementById(measurement).create(params));
  const offset = [points.x[0] ?? 0, points.y[0] ?? 0, 0].map((v) => Math.round(v));
  const raw = createBatch(COLUMNS, size);
  const batch = createMeasuredBatch(raw, size);
  const units = { address: '', horizontalUnit, heightUnit };
  const fileOf = options.fileOf ?? (() => 0);
  for (let from = 0; from < points.count; ) {
    const file = fileOf(from);
    let to = from;
    while (to < points.count && to - from < size && fileOf(to) === file) to++;
    fill(raw, points, from, to, offset, scale);
    scaleToWorld(batch, raw, { scale: [scale, scale, scale], offset }, file, units, passes);
    wanted.forEach(({ measurement }, m) => {
      measurementById(measurement).add(states[m], batch);
    });
    from = to;
  }
  const packed = states.map((state, m) => measurementById(wanted[m].measurement).pack(state));
  facts.addResult({ ...unmeasuredResult([WHOLE], []), states: packed });
  areas.finaliseHere({ measurements });
  return facts;
}

function fill(
  raw: PointBatch,
  points: SceneColumns,
  from: number,
  to: number,
  offset: readonly number[],
  scale: number,
) {
  raw.count = to - from;
  raw.first = from;
  for (let i = from, k = 0; i < to; i++, k++) {
    raw.x[k] = Math.round((points.x[i] - offset[0]) / scale);
    raw.y[k] = Math.round((points.y[i] - offset[1]) / scale);
    raw.z[k] = Math.round((points.z[i] - offset[2]) / scale);
    raw.intensity[k] = points.intensity[i];
    raw.returnNumber[k] = points.returnNumber[i];
    raw.returnCount[k] = points.returnCount[i];
    raw.classification[k] = points.classification[i];
    raw.scannerChannel[k] = points.scannerChannel[i];
    raw.scanAngle[k] = points.scanAngle[i];
    raw.pointSourceId[k] = points.pointSourceId[i];
    raw.gpsTime[k] = points.gpsTime[i];
  }
}

/** The same points moved; the input is left as it is. */
export function moved(points: SceneColumns, by: readonly [number, number, number]): SceneColumns {
  const shift = (values: Float64Array, d: number) => values.map((v) => v + d);
  return { ...points, x: shift(points.x, by[0]), y: shift(points.y, by[1]), z: shift(points.z, by[2]) };
}

/** The same points in another unit: every coordinate divided by metres a unit. */
export function inUnit(points: SceneColumns, metres: number): SceneColumns {
  const divide = (values: Float64Array) => values.map((v) => v / metres);
  return { ...points, x: divide(points.x), y: divide(points.y), z: divide(points.z) };
}
