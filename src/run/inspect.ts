import type { FormatIssue } from '../cloud/header.js';
import { openCloud } from '../cloud/open.js';
import { openSource } from '../cloud/source.js';
import { discoverClouds, type FoundCloud } from '../delivery/discover.js';
import { faultOfDamage } from '../engine/damaged-chunks.js';
import { measureContents, POINT_COUNTS } from '../engine/measure-delivery.js';
import { makeWorkPlan, SPAN_POINTS, withoutAddress } from '../engine/work-plan.js';
import { defaultWorkers, withWorkerPool } from '../engine/worker-pool.js';
import { Fault } from '../fault.js';
import { QUANTA_PER_METRE } from '../measure/contract/measurement.js';
import { fact } from '../measure/fact-types.js';
import { measurementById } from '../measure/index.js';
import type { Inspection } from '../report/inspection.js';
import { milliseconds } from './timeout.js';

export type { Inspection } from '../report/inspection.js';

export type InspectionOutcome = { inspection: Inspection; fault: null } | { inspection: null; fault: string };

const COUNTS = fact('class-counts', null);
const RECOUNT = fact('header-recount', null);

/**
 * Inspects one cloud after the other: header and records, and the points too unless `headerOnly`. A cloud that cannot be
 * read gives a fault; the others are inspected.
 * @param timeout seconds without a byte after which a server is given up
 * @param showQueries names of URLs keep their query, which may hold keys
 * @throws Fault when there is no cloud
 */
export async function* inspect(
  inputs: readonly string[],
  headerOnly: boolean,
  timeout?: number,
  showQueries = false,
): AsyncGenerator<InspectionOutcome> {
  const timeoutMs = milliseconds(timeout);
  for (const cloud of await discoverClouds(inputs, showQueries)) {
    try {
      yield { inspection: await inspectOne(cloud, headerOnly, timeoutMs), fault: null };
    } catch (error) {
      yield { inspection: null, fault: withoutAddress(Fault.from(error, cloud.name), cloud.name) };
    }
  }
}

async function inspectOne(
  { address, name }: FoundCloud,
  headerOnly: boolean,
  timeoutMs: number | undefined,
): Promise<Inspection> {
  const cloud = await openCloud(await openSource(address, { timeoutMs }));
  try {
    const { header, format, source, vlrs, crs, extraBytes, formatIssues } = cloud;
    return {
      file: name,
      bytes: source.size,
      packing: format,
      version: `${header.versionMajor}.${header.versionMinor}`,
      pointFormat: header.pointFormat,
      recordLength: header.recordLength,
      points: header.pointCount,
      pointsByReturn: [...header.pointsByReturn],
      systemIdentifier: header.systemIdentifier,
      generatingSoftware: header.generatingSoftware,
      creation: header.creationYear > 0 ? `${header.creationYear}, day ${header.creationDay}` : null,
      scale: [...header.scale],
      offset: [...header.offset],
      min: [...header.min],
      max: [...header.max],
      crs: {
        horizontal: crs.horizontal
          ? { name: crs.horizontal.name, epsg: crs.horizontal.epsg, unit: crs.horizontal.unit.name }
          : null,
        vertical: crs.vertical
          ? { name: crs.vertical.name, epsg: crs.vertical.epsg, unit: crs.vertical.unit.name }
          : null,
        problems: [...crs.problems],
      },
      records: vlrs.map(({ userId, recordId, description, length, extended }) => ({
        userId,
        recordId,
        description,
        length,
        extended,
      })),
      extraBytes: extraBytes.map(({ name: field, type }) => ({ name: field, type: String(type) })),
      formatIssues: formatIssues.map((issue: FormatIssue) => issue.text),
      contents: headerOnly ? null : await readContents(address, name, timeoutMs),
    };
  } finally {
    await cloud.close();
  }
}

async function readContents(
  address: string,
  name: string,
  timeoutMs: number | undefined,
): Promise<Inspection['contents']> {
  const plan = await makeWorkPlan([{ address, name }], null, SPAN_POINTS, null, timeoutMs);
  const [file] = plan.files;
  const requests = [POINT_COUNTS, COUNTS, RECOUNT];
  const columns = requests.flatMap(({ measurement, params }) => [...measurementById(measurement).columns(params)]);
  const { facts, faults } = await withWorkerPool(defaultWorkers(), (pool) =>
    measureContents(plan, requests, ['xyz', 'flags', 'pointSourceId', ...columns], pool),
  );
  const fault = faults.firstFaultOf(file.index);
  if (fault) throw new Fault(fault);
  if (file.damage.length > 0) throw faultOfDamage(file);
  if (file.fault) throw new Fault({ code: 'file-not-read', where: name, what: file.fault });
  const rows = facts.get(POINT_COUNTS);
  const counts = facts.get(COUNTS);
  const [recount] = facts.get(RECOUNT);
  const box = [0, 1, 2, 3, 4, 5].map(
    (k) =>
      rows.reduce(
        (end, row) => (k < 3 ? Math.min : Math.max)(end, row.box[k]),
        k < 3 ? Number.POSITIVE_INFINITY : Number.NEGATIVE_INFINITY,
      ) / QUANTA_PER_METRE,
  );
  return {
    points: recount?.points ?? 0,
    withheld: rows.reduce((sum, row) => sum + row.withheld, 0),
    extentMetres: box.every(Number.isFinite) ? box : null,
    passes: rows.map((row) => ({ pointSourceId: row.pass, points: row.points })),
    classes: counts.byClass,
    returns: counts.byReturnCount,
    intensity: counts.intensity,
    gpsTime: recount?.gps ?? null,
  };
}
