import type { Cloud, Span } from '../cloud/cloud.js';
import { heightUnit } from '../cloud/crs.js';
import { openCloud } from '../cloud/open.js';
import type { DeliveredFile } from '../delivery/delivery.js';
import { Fault, type FaultFacts, isInternalError } from '../fault.js';
import type { JobFile, SpanTask } from './job.js';
import { sampleSpans } from './sampling.js';
import { coherenceLimit } from './spatial-coherence.js';

/** About so many points a span: long enough to hide the cost of a task, short enough that one file fills all cores. */
export const SPAN_POINTS = 1_000_000;
/** Files whose headers are read at a time. */
const OPEN_AT_ONCE = 8;

export interface WorkPlan {
  files: DeliveredFile[];
  /** In file order, then in span order. */
  tasks: SpanTask[];
  /** Metres per unit for each file, with the unit of the spec where the file does not say. */
  units: JobFile[];
}

/**
 * Reads headers, records and chunk tables only, and cuts every file into spans. A file that cannot be opened is a fact of
 * the plan, not an error: the others are measured.
 */
export async function makeWorkPlan(
  clouds: readonly { address: string; name: string }[],
  declaredUnitMetres: number | null,
  spanPoints = SPAN_POINTS,
  sample: number | null = null,
): Promise<WorkPlan> {
  const opened = new Array<{ file: DeliveredFile; spans: Span[] }>(clouds.length);
  let next = 0;
  const openNext = async () => {
    while (next < clouds.length) {
      const index = next++;
      opened[index] = await openOne(index, clouds[index], declaredUnitMetres, spanPoints, sample);
    }
  };
  await Promise.all(Array.from({ length: Math.min(OPEN_AT_ONCE, clouds.length) }, openNext));
  return {
    files: opened.map(({ file }) => file),
    tasks: opened.flatMap(({ file, spans }) => spans.map((span) => ({ file: file.index, span }))),
    units: opened.map(({ file }) => ({
      address: file.address,
      planUnit: file.planUnit,
      heightUnit: file.heightUnit,
      extentLimit: coherenceLimit(file),
    })),
  };
}

async function openOne(
  index: number,
  { address, name }: { address: string; name: string },
  declaredUnitMetres: number | null,
  spanPoints: number,
  sample: number | null,
): Promise<{ file: DeliveredFile; spans: Span[] }> {
  const file: DeliveredFile = {
    index,
    name,
    address,
    bytes: 0,
    packing: null,
    header: null,
    crs: null,
    planUnit: 1,
    heightUnit: 1,
    fault: null,
    faultFacts: null,
    damage: [],
    formatIssues: [],
    extraBytes: [],
    copc: null,
  };
  let cloud: Cloud | null = null;
  try {
    cloud = await openCloud(address);
    file.bytes = cloud.source.size;
    file.packing = cloud.packing;
    file.header = cloud.header;
    file.crs = cloud.crs;
    file.extraBytes = cloud.extraBytes;
    file.copc = cloud.copc;
    if (cloud.crs.horizontal?.geographic) throw inDegrees(name, cloud.crs.horizontal.name);
    file.planUnit = cloud.crs.horizontal?.unit.metres ?? declaredUnitMetres ?? 1;
    file.heightUnit = heightUnit(cloud.crs)?.metres ?? file.planUnit;
    const spans = sample === null ? await cloud.spans(spanPoints) : await sampleSpans(cloud, spanPoints, sample);
    return { file, spans };
  } catch (error) {
    const fault = Fault.from(error, name);
    file.fault = withoutAddress(fault, name);
    file.faultFacts = namedFault(fault.facts, name);
    return { file, spans: [] };
  } finally {
    // Only now: cutting the points into spans finds more.
    if (cloud) file.formatIssues = cloud.formatIssues;
    await cloud?.close();
  }
}

function inDegrees(where: string, system: string): Fault {
  return new Fault({
    code: 'geographic-coordinates',
    what: `coordinates are longitude and latitude (${system}), in which no distance can be measured`,
    where,
    advice: 'Deliver the cloud in a projected coordinate system',
  });
}

/** The sentence of a fault with the file's short name, whatever the fault called it. */
export function withoutAddress(fault: Fault, name: string): string {
  return Fault.sentence(namedFault(fault.facts, name));
}

/** A fault with the file's short name in place of its address; an internal error says that the file was being read. */
export function namedFault(facts: FaultFacts, name: string): FaultFacts {
  return { ...facts, where: isInternalError(facts) ? `reading ${name}` : name };
}
