import { passLabel } from '../../delivery/delivery.js';
import { alignmentsOf, outagesOf } from '../../delivery/drive-events.js';
import type { Drive } from '../../delivery/trajectory.js';
import { fitLine } from '../../geometry/line-fit.js';
import { median } from '../../geometry/statistics.js';
import type { OffsetBin, OffsetSeries } from '../../measure/passes/offsets-in-vehicle.js';
import type { JudgeContext, LikelyCause } from '../contract/check.js';
import { likelyCauses } from './index.js';
import type { AxisCourse, OutageOffset, VehicleAxis, VehicleDriftFacts } from './rule.js';

const AXES: readonly VehicleAxis[] = ['along', 'left', 'up'];
/** Time before and after an outage in which a pass shows what it is without it, seconds. */
const BESIDE = 60;
/** An alignment after a pass ends so many seconds after it, at least. */
const LEAST_CLOSING = 10;
/** Bins from which a course is fitted. */
const COURSE_BINS = 6;

/**
 * Likely causes of drifts from what the trajectory says of the same time: the rules are asked for every pass, and of one that speaks
 * for several passes the largest offset is kept. @param limit smallest offset that matters, metres
 */
export function vehicleCauses(all: readonly OffsetSeries[], limit: number, { delivery }: JudgeContext): LikelyCause[] {
  const drives = delivery.trajectory?.drives ?? [];
  const events = new Map<Drive, ReturnType<typeof eventsOf>>();
  const found = new Map<string, { cause: LikelyCause; size: number }>();
  for (const { pass, bins } of all) {
    if (bins.length === 0) continue;
    const drive = drives.find(({ time, epochs }) => bins[0].time >= time[0] - 1 && bins[0].time <= time[epochs - 1]);
    if (drive === undefined) continue;
    const known = events.get(drive) ?? eventsOf(drive);
    events.set(drive, known);
    const facts = factsOf(passLabel(delivery, pass), bins, known, limit);
    for (const cause of likelyCauses('vehicleDrift', facts)) {
      const size = Math.abs(cause.figures.offset?.value ?? 0);
      const other = found.get(cause.rule);
      if (other === undefined || size > other.size) found.set(cause.rule, { cause, size });
    }
  }
  return [...found.values()].map(({ cause }) => cause);
}

function eventsOf(drive: Drive) {
  return { outages: outagesOf(drive), alignments: alignmentsOf(drive) };
}

function factsOf(
  pass: string,
  bins: readonly OffsetBin[],
  { outages, alignments }: ReturnType<typeof eventsOf>,
  limit: number,
): VehicleDriftFacts {
  const step = bins.length > 1 ? median(bins.slice(1).map(({ time }, k) => time - bins[k].time)) : 1;
  const inside = ({ time }: OffsetBin) => outages.some(({ from, to }) => time + step > from && time < to);
  const outside = bins.filter((bin) => !inside(bin));
  const begin = bins[0].time;
  const end = bins[bins.length - 1].time + step;
  return {
    pass,
    limit,
    outages: outages.flatMap(({ from, to }) => AXES.flatMap((axis) => outageOffset(bins, axis, from, to, step) ?? [])),
    outside: Object.fromEntries(AXES.map((axis) => [axis, largestOf(outside, axis)])) as VehicleDriftFacts['outside'],
    courses: AXES.flatMap((axis) => courseOf(outside, axis, step) ?? []),
    aligned: alignments.filter(({ to }) => to <= begin + step).at(-1)?.to ?? null,
    closing: alignments.find(({ to }) => to >= end + LEAST_CLOSING)?.to ?? null,
  };
}

function largestOf(bins: readonly OffsetBin[], axis: VehicleAxis): number {
  return bins.reduce((most, bin) => Math.max(most, Math.abs(bin[axis]?.value ?? 0)), 0);
}

function outageOffset(
  bins: readonly OffsetBin[],
  axis: VehicleAxis,
  from: number,
  to: number,
  step: number,
): OutageOffset | null {
  const seen = (low: number, high: number) =>
    bins.filter(({ time }) => time >= low && time + step <= high).flatMap((bin) => bin[axis] ?? []);
  const within = seen(from - step, to + step);
  if (within.length === 0) return null;
  const peak = within.reduce((a, b) => (Math.abs(b.value) > Math.abs(a.value) ? b : a));
  const middle = (values: { value: number }[]) =>
    values.length === 0 ? null : median(values.map(({ value }) => value));
  return { from, to, axis, peak, before: middle(seen(from - BESIDE, from)), after: middle(seen(to, to + BESIDE)) };
}

function courseOf(bins: readonly OffsetBin[], axis: VehicleAxis, step: number): AxisCourse | null {
  const known = bins.filter((bin) => bin[axis] !== null);
  if (known.length < COURSE_BINS) return null;
  const time = Float64Array.from(known, (bin) => bin.time + step / 2);
  const value = Float64Array.from(known, (bin) => bin[axis]!.value);
  const weight = new Float64Array(known.length).fill(1);
  const line = fitLine(time, value, weight, 0, known.length);
  if (line === null) return null;
  return {
    axis,
    from: time[0],
    to: time[time.length - 1],
    slope: { value: line.slope, std: line.slopeStd },
    at: (t) => line.level + line.slope * (t - line.middle),
  };
}
