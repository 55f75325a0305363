import { passLabel } from '../../delivery/delivery.js';
import type { OffsetBin, OffsetSeries } from '../../measure/passes/offsets-in-vehicle.js';
import type { VehicleOffset } from '../../measure/passes/vehicle-axes.js';
import type { Evidence, JudgeContext } from '../contract/check.js';

const AXES = ['along', 'left', 'up'] as const;
/** Points of a drawn line at most; of more bins every second, third ... is drawn. */
const MOST_DRAWN = 400;

/** Offsets of passes along, left of and above their vehicles: the largest of each in a table, and the course of the worst pass. */
export function offsetEvidence(all: readonly OffsetSeries[], { delivery }: JudgeContext): Evidence[] {
  const seen = all.filter(({ bins }) => bins.length > 0);
  if (seen.length === 0) return [];
  const rows = seen.map(({ pass, bins }) => [
    passLabel(delivery, pass),
    ...AXES.flatMap((axis) => {
      const worst = largest(bins, axis);
      return [worst?.[axis]?.value ?? null, worst?.[axis]?.std ?? null, worst?.time ?? null];
    }),
  ]);
  const [worst] = [...seen].sort((a, b) => sizeOf(b) - sizeOf(a));
  return [
    {
      kind: 'table',
      title: 'Largest offset of each pass from the others in the frame of its vehicle',
      columns: [
        { key: 'pass', title: 'pass' },
        ...AXES.flatMap((axis) => [
          { key: axis, title: axis, unit: 'm' as const },
          { key: `${axis}Std`, title: 'its standard deviation', unit: 'm' as const },
          { key: `${axis}At`, title: 'at GPS time', unit: 's' as const },
        ]),
      ],
      rows,
    },
    {
      kind: 'series',
      title: `Offset of ${passLabel(delivery, worst.pass)} from the others in the frame of its vehicle`,
      unit: 'm',
      along: { title: 'GPS time since the first comparison', unit: 's' },
      lines: AXES.map((axis) => lineOf(worst, axis)),
    },
  ];
}

function lineOf({ bins }: OffsetSeries, axis: (typeof AXES)[number]) {
  const each = Math.ceil(bins.length / MOST_DRAWN);
  const drawn = bins.filter((_, k) => k % each === 0);
  return {
    name: axis,
    x: drawn.map(({ time }) => time - bins[0].time),
    y: drawn.map((bin) => bin[axis]?.value ?? null),
  };
}

function largest(bins: readonly OffsetBin[], axis: (typeof AXES)[number]): OffsetBin | null {
  return bins.reduce<OffsetBin | null>((most, bin) => {
    const size = Math.abs(bin[axis]?.value ?? Number.NaN);
    return size > Math.abs(most?.[axis]?.value ?? -1) || (most === null && size >= 0) ? bin : most;
  }, null);
}

function sizeOf({ bins }: OffsetSeries): number {
  return bins.reduce(
    (most, bin) => AXES.reduce((all, axis) => Math.max(all, Math.abs(bin[axis]?.value ?? 0)), most),
    0,
  );
}

/** How the heads of a vehicle are mounted against each other, pair by pair; empty where nothing is known. */
export function mountingTable(
  pairs: readonly { a: number; b: number; mounting: VehicleOffset | null }[],
  { delivery }: JudgeContext,
): Evidence[] {
  const known = pairs.filter(({ mounting }) => mounting !== null);
  if (known.length === 0) return [];
  const metres = AXES.flatMap((axis) => [
    { key: axis, title: axis, unit: 'm' as const },
    { key: `${axis}Std`, title: 'its standard deviation', unit: 'm' as const },
  ]);
  const degrees = ANGLES.flatMap((axis) => [
    { key: axis, title: axis, unit: 'degree' as const },
    { key: `${axis}Std`, title: 'its standard deviation', unit: 'degree' as const },
  ]);
  return [
    {
      kind: 'table',
      title: 'Second head against the first in the frame of the vehicle, as if all of it were an error of the second',
      columns: [{ key: 'a', title: 'first head' }, { key: 'b', title: 'second head' }, ...metres, ...degrees],
      rows: known.map(({ a, b, mounting }) => [
        passLabel(delivery, a),
        passLabel(delivery, b),
        ...[...AXES, ...ANGLES].flatMap((axis) => [mounting![axis]?.value ?? null, mounting![axis]?.std ?? null]),
      ]),
    },
  ];
}

const ANGLES = ['roll', 'pitch', 'heading'] as const;
