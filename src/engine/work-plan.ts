import type { Cloud, Span } from '../cloud/cloud.js';
import { heightUnit } from '../cloud/crs.js';
import { openCloud } from '../cloud/open.js';
import { openSource } from '../cloud/source.js';
import type { DeliveredFile, FileSample } from '../delivery/delivery.js';
import { Fault, type FaultFacts, isInternalError, TOO_FEW_HANDLES } from '../fault.js';
import type { JobFile, SpanTask } from './job.js';
import { type Sample, sampleSpans } from './sampling.js';
import { coherenceLimit } from './spatial-coherence.js';

/** Points in a span, about: enough that the cost of a job does not matter, few enough that one file keeps all cores busy. */
export const SPAN_POINTS = 1_000_000;
/** Files whose headers are read at the same time. */
const OPEN_AT_ONCE = 8;

/** The files of a delivery and the spans to read. */
export interface WorkPlan {
  files: DeliveredFile[];
  /** In file order, then in span order. */
  tasks: SpanTask[];
  /** For each file: metres in its units, with the unit of the spec where the file states none. */
  units: JobFile[];
}

/**
 * Reads headers, records and chunk tables, but no points, and cuts every file into spans. A file that cannot be opened has
 * its fault noted in the plan; the other files are measured.
 * @param declaredUnitMetres metres in the unit that the spec declares; null where it declares none
 * @param spanPoints about so many points in a span
 * @param sample share of the points to read, between 0 and 1; null for all points
 * @param timeoutMs time without a byte after which a server is given up, milliseconds
 */
export async function makeWorkPlan(
  clouds: readonly { address: string; name: string }[],
  declaredUnitMetres: number | null,
  spanPoints = SPAN_POINTS,
  sample: number | null = null,
  timeoutMs?: number,
): Promise<WorkPlan> {
  const opened = new Array<OpenedFile>(clouds.length);
  let next = 0;
  const openNext = async () => {
    while (next < clouds.length) {
      const index = next++;
      opened[index] = await openOne(index, clouds[index], declaredUnitMetres, spanPoints, sample, timeoutMs);
    }
  };
  await Promise.all(Array.from({ length: Math.min(OPEN_AT_ONCE, clouds.length) }, openNext));
  return {
    files: opened.map(({ file }) => file),
    tasks: opened.flatMap(({ file, spans }) => spans.map((span) => ({ file: file.index, span }))),
    units: opened.map(({ file, identity }) => ({
      address: file.address,
      identity,
      timeoutMs,
      horizontalUnit: file.horizontalUnit,
      heightUnit: file.heightUnit,
      extentLimit: coherenceLimit(file),
    })),
  };
}

interface OpenedFile {
  file: DeliveredFile;
  spans: Span[];
  /** Identity of the source; absent where it could not be opened. */
  identity?: string;
}

async function openOne(
  index: number,
  { address, name }: { address: string; name: string },
  declaredUnitMetres: number | null,
  spanPoints: number,
  sample: number | null,
  timeoutMs: number | undefined,
): Promise<OpenedFile> {
  const file: DeliveredFile = {
    index,
    name,
    address,
    bytes: 0,
    format: null,
    header: null,
    crs: null,
    horizontalUnit: 1,
    heightUnit: 1,
    fault: null,
    faultFacts: null,
    damage: [],
    formatIssues: [],
    extraBytes: [],
    copc: null,
  };
  let cloud: Cloud | null = null;
  let identity: string | undefined;
  try {
    const source = await openSource(address, { timeoutMs });
    identity = source.identity;
    cloud = await openCloud(source);
    file.bytes = cloud.source.size;
    file.format = cloud.format;
    file.header = cloud.header;
    file.crs = cloud.crs;
    file.extraBytes = cloud.extraBytes;
    file.copc = cloud.copc;
    if (cloud.crs.horizontal?.geographic) throw inDegrees(name, cloud.crs.horizontal.name);
    file.horizontalUnit = cloud.crs.horizontal?.unit.metres ?? declaredUnitMetres ?? 1;
    file.heightUnit = heightUnit(cloud.crs)?.metres ?? file.horizontalUnit;
    if (sample === null) return { file, spans: await cloud.spans(spanPoints), identity };
    const part = await sampleSpans(cloud, spanPoints, sample);
    file.sampled = fileSample(part, file.horizontalUnit);
    return { file, spans: part.spans, identity };
  } catch (error) {
    const fault = Fault.from(error, name);
    if (fault.facts.code === TOO_FEW_HANDLES) throw fault;
    file.fault = withoutAddress(fault, name);
    file.faultFacts = namedFault(fault.facts, name);
    return { file, spans: [], identity };
  } finally {
    // Read last: cutting the points into spans finds further issues.
    if (cloud) file.formatIssues = cloud.formatIssues;
    await cloud?.close();
  }
}

function fileSample({ spans, pieces, unread }: Sample, unit: number): FileSample {
  return {
    points: spans.reduce((sum, span) => sum + span.points, 0),
    pieces,
    unread:
      unread &&
      Float64Array.from(unread.flatMap(({ x, y, side, points }) => [x * unit, y * unit, side * unit, points])),
  };
}

function inDegrees(where: string, system: string): Fault {
  return new Fault({
    code: 'geographic-coordinates',
    what: `coordinates are longitude and latitude (${system}), in which no distance can be measured`,
    where,
    advice: 'Deliver the cloud in a projected coordinate system',
  });
}

/** The sentence of a fault with the short name of the file in place of its address. */
export function withoutAddress(fault: Fault, name: string): string {
  return Fault.sentence(namedFault(fault.facts, name));
}

/** A fault with the file's short name in place of its address; an internal error says that the file was being read. */
export function namedFault(facts: FaultFacts, name: string): FaultFacts {
  return { ...facts, where: isInternalError(facts) ? `reading ${name}` : name };
}
