import { type LasStructureOptions, lasStructure } from '../checks/las-structure.js';
import { ALL_COLUMNS } from '../cloud/columns.js';
import type { DeliveryFacts } from '../delivery/delivery.js';
import { discoverClouds } from '../delivery/discover.js';
import { faultOfDamage } from '../engine/damaged-chunks.js';
import { measurementsBehind } from '../engine/facts.js';
import { measureContents } from '../engine/measure-delivery.js';
import { makeWorkPlan, SPAN_POINTS } from '../engine/work-plan.js';
import { defaultWorkers, withWorkerPool } from '../engine/worker-pool.js';
import { requestList } from '../measure/fact-types.js';
import type { FormatFinding, FormatReport } from '../report/format-rules.js';
import type { SpecRequirement } from '../spec/acceptance-spec.js';
import { parseSpec } from '../spec/load.js';
import { fragments } from './check-fragments.js';
import { milliseconds } from './timeout.js';

export type { FormatReport } from '../report/format-rules.js';

export interface FormatRulesOptions {
  /** How strictly WKT is read; see the option `wkt` of the check las-structure. */
  wkt: 'las' | 'usgs';
  /** Does not read the points; damage to compressed points is then not found. */
  headerOnly: boolean;
  /** Worker threads; as many as there are cores unless given. */
  workers?: number;
  /** Seconds without a byte after which a server is given up. */
  timeout?: number;
  /** Shows the queries of addresses; they may hold keys. */
  showQueries?: boolean;
}

/**
 * Holds clouds against the rules of their format and nothing else. All columns are read, so that every layer of compressed
 * points is tried.
 * @throws Fault when there is nothing to look at
 */
export async function testFormatRules(inputs: readonly string[], options: FormatRulesOptions): Promise<FormatReport> {
  const plan = await makeWorkPlan(
    await discoverClouds(inputs, options.showQueries),
    null,
    SPAN_POINTS,
    null,
    milliseconds(options.timeout),
  );
  const text = JSON.stringify({
    spec: '1',
    title: 'Rules of the format',
    requirements: [{ id: 'RULES', check: 'las-structure', wkt: options.wkt }],
  });
  const spec = parseSpec(text, 'rules', fragments());
  // The fragments of the spec validated the options of the check.
  const requirement = spec.requirements[0] as SpecRequirement & LasStructureOptions;
  const delivery: DeliveryFacts = {
    files: plan.files,
    passes: [],
    passRule: spec.passes,
    surveyPoints: null,
    zones: [],
    tileIndex: null,
    declaredCrs: spec.crs,
    sample: null,
    transfer: null,
    trajectory: null,
    route: null,
  };
  const requests = options.headerOnly ? {} : lasStructure.needs(requirement, { delivery });
  const measured = measurementsBehind(requestList(requests));
  const read = options.headerOnly
    ? null
    : await withWorkerPool(options.workers ?? defaultWorkers(), (pool) =>
        measureContents(plan, measured, ALL_COLUMNS, pool),
      );
  for (const file of plan.files) {
    const fault = read?.faults.firstFaultOf(file.index);
    if (fault) {
      file.faultFacts ??= { ...fault, where: file.name };
      file.fault ??= fault.what;
    }
    if (file.damage.length === 0) continue;
    const { facts: damage } = faultOfDamage(file);
    file.faultFacts ??= damage;
    file.fault ??= damage.what;
  }
  // With the header alone nothing was measured: the check then gets no facts to compare with the header.
  const known = read === null ? {} : read.facts.getAll(requests);
  const verdict = lasStructure.judge(known, requirement, { delivery });
  const table = verdict.evidence.find((e) => e.kind === 'table');
  const findings: FormatFinding[] = (table?.kind === 'table' ? table.rows : []).map((row) => ({
    rule: String(row[0]),
    severity: row[1] as FormatFinding['severity'],
    file: String(row[2]),
    byte: row[3] as number | null,
    found: row[4] as string | number,
    expected: row[5] as string | number,
    text: String(row[6]),
    clause: String(row[7]),
  }));
  return {
    verdict: verdict.state === 'pass' ? 'pass' : verdict.state === 'fail' ? 'fail' : 'undetermined',
    errors: verdict.measured.errors?.value ?? 0,
    warnings: verdict.measured.warnings?.value ?? 0,
    files: plan.files.map(({ name, faultFacts }) => ({
      file: name,
      fault: faultFacts === null ? null : faultFacts.what,
    })),
    findings,
  };
}
