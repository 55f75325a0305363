import { fileAt, passLabel } from '../../delivery/delivery.js';
import { median } from '../../geometry/statistics.js';
import type { DriftStep, PassDrift } from '../../measure/passes/drift-of-passes.js';
import type { Evidence, JudgeContext, Location, State } from '../contract/check.js';
import type { PlacedValues } from '../contract/placed-values.js';
import { signedLength } from '../contract/wording.js';

/** What the evidence needs of the options: limits in metres, the bin in seconds. */
export interface DriftLimits {
  maxOffset?: number;
  maxStep?: number;
  bin: number;
}

/** A step in words. */
export function stepText(drift: PassDrift, { at, gap, step }: DriftStep): string {
  return `step of ${signedLength(step)} at ${whenIn(drift, at)}${gap > 0 ? ` after ${gap.toFixed(1)} s without a comparison` : ''}`;
}

/** GPS time, and seconds since the pass was first compared. */
export function whenIn({ begin }: PassDrift, time: number): string {
  return `GPS time ${time.toFixed(1)} s (${Math.max(0, time - begin).toFixed(1)} s into the pass)`;
}

/** From metres a second. */
export function inMillimetresPerMinute(slope: number): number {
  return slope * 60_000;
}

const MOST_PLACES = 20;

/** Bins beyond the limit of passes at fault, runs of them as one place; and the steps. */
export function driftPlaces(
  judged: readonly { drift: PassDrift; name: string; state: State }[],
  r: DriftLimits,
  context: JudgeContext,
): Location[] {
  const items: { excess: number; location: Location }[] = [];
  for (const { drift, name, state } of judged) {
    if (state !== 'fail') continue;
    const add = (i: number, value: number, limit: number, note: string) => {
      const [x, y] = [drift.x[i], drift.y[i]];
      const file = fileAt(context.delivery, x, y);
      const location = { x, y, ...(file ? { file } : {}), pass: name, value, unit: 'm' as const, note };
      items.push({ excess: Math.abs(value) / limit, location });
    };
    if (r.maxOffset !== undefined) {
      for (const [from, to] of runsBeyond(drift, r.maxOffset, r.bin)) {
        let top = from;
        for (let i = from; i < to; i++) if (Math.abs(drift.offset[i]) > Math.abs(drift.offset[top])) top = i;
        add(
          top,
          drift.offset[top],
          r.maxOffset,
          `against the others from ${whenIn(drift, drift.time[from])} to ${whenIn(drift, drift.time[to - 1] + r.bin)}`,
        );
      }
    }
    const limit = r.maxStep ?? Number.POSITIVE_INFINITY;
    for (const step of drift.steps) {
      if (Math.abs(step.step) <= limit) continue;
      let i = drift.time.findIndex((t) => t + r.bin >= step.at);
      if (i < 0) i = drift.time.length - 1;
      add(i, step.step, limit, stepText(drift, step));
    }
  }
  return items
    .sort((a, b) => b.excess - a.excess)
    .slice(0, MOST_PLACES)
    .map(({ location }) => location);
}

/** Index ranges of bins that follow one another beyond the limit. */
function runsBeyond({ time, offset }: PassDrift, limit: number, bin: number): [number, number][] {
  const runs: [number, number][] = [];
  for (let i = 0; i < time.length; i++) {
    if (Math.abs(offset[i]) <= limit) continue;
    const last = runs.at(-1);
    if (last && last[1] === i && time[i] - time[i - 1] < 1.5 * bin) last[1] = i + 1;
    else runs.push([i, i + 1]);
  }
  return runs;
}

/** Points of a drawn line; longer series are thinned to the bin farthest from zero of each group. */
const MOST_DRAWN = 400;

/**
 * The offsets of the passes with their places, for the route. A bin speaks for the way driven in it: the median distance to the next one.
 */
export function driftOnRoute(
  tested: readonly PassDrift[],
  { maxOffset, bin }: DriftLimits,
  context: JudgeContext,
): PlacedValues[] {
  if (maxOffset === undefined) return [];
  const ways = tested.flatMap(({ time, x, y }) =>
    Array.from(time.subarray(1), (at, i) => ({
      seconds: at - time[i],
      metres: Math.hypot(x[i + 1] - x[i], y[i + 1] - y[i]),
    }))
      .filter(({ seconds }) => seconds < 1.5 * bin)
      .map(({ metres }) => metres),
  );
  if (ways.length === 0) return [];
  return [
    {
      kind: 'placed-values',
      title: 'largest offset of a pass against the others',
      statistic: 'worst',
      unit: 'm',
      limit: maxOffset,
      sense: 'at-most',
      cell: median(ways),
      sets: tested.map((drift) => ({
        name: passLabel(context.delivery, drift.pass),
        places: { x: drift.x, y: drift.y },
        value: drift.offset,
      })),
    },
  ];
}

/** Offsets along time, one line a pass. */
export function driftSeries(tested: readonly PassDrift[], r: DriftLimits, context: JudgeContext): Evidence {
  return {
    kind: 'series',
    title: 'Height of each pass against the others along its GPS time',
    unit: 'm',
    along: { title: 'time since the pass was first compared', unit: 's' },
    lines: tested.map((drift) => ({
      name: passLabel(context.delivery, drift.pass),
      ...lineOf(drift, r.bin),
    })),
    ...(r.maxOffset !== undefined ? { limit: r.maxOffset } : {}),
  };
}

function lineOf({ time, offset, begin }: PassDrift, bin: number): { x: number[]; y: (number | null)[] } {
  const group = Math.ceil(time.length / MOST_DRAWN);
  const x: number[] = [];
  const y: (number | null)[] = [];
  let before = Number.NaN;
  for (let i = 0; i < time.length; i += group) {
    let top = i;
    for (let k = i; k < Math.min(i + group, time.length); k++) if (Math.abs(offset[k]) > Math.abs(offset[top])) top = k;
    // A gap of time interrupts the line.
    if (time[i] - before > 1.5 * bin) {
      x.push(before + bin - begin);
      y.push(null);
    }
    x.push(time[top] + bin / 2 - begin);
    y.push(offset[top]);
    before = time[Math.min(i + group, time.length) - 1];
  }
  return { x, y };
}

/** The figures of every pass. */
export function driftTable(tested: readonly PassDrift[], context: JudgeContext): Evidence {
  return {
    kind: 'table',
    title: 'Passes along GPS time',
    columns: [
      { key: 'pass', title: 'pass' },
      { key: 'others', title: 'compared with' },
      { key: 'bins', title: 'bins', unit: 'count' },
      { key: 'from', title: 'first GPS time', unit: 's' },
      { key: 'offset', title: 'largest offset', unit: 'm' },
      { key: 'slope', title: 'steepest drift', unit: 'mm/min' },
      { key: 'slopeStd', title: 'its standard deviation', unit: 'mm/min' },
      { key: 'step', title: 'largest step', unit: 'm' },
      { key: 'stepStd', title: 'its standard deviation', unit: 'm' },
      { key: 'steps', title: 'significant steps', unit: 'count' },
    ],
    rows: tested.map((d) => [
      passLabel(context.delivery, d.pass),
      d.others.map((pass) => passLabel(context.delivery, pass)).join(', '),
      d.time.length,
      d.begin,
      d.offset[d.worst],
      d.slope ? inMillimetresPerMinute(d.slope.slope) : null,
      d.slope ? inMillimetresPerMinute(d.slope.std) : null,
      d.step?.step ?? null,
      d.step?.std ?? null,
      d.steps.length,
    ]),
  };
}
