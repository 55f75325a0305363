import { fileAt, passLabel } from '../../delivery/delivery.js';
import { placesOfLargest } from '../../geometry/ranking.js';
import type { PassPair } from '../../measure/pass-pairs.js';
import { largestByCell } from '../cells/largest-by-cell.js';
import type { Evidence, JudgeContext, Location, PassPairLine } from '../contract/check.js';
import type { PlacedValues } from '../contract/placed-values.js';
import { length } from '../contract/wording.js';
import { comparedShareOf } from './compared-share.js';

/** Number of places that a list shows. */
const PLACES = 10;

/** Line of the report's own table of pass pairs. */
export function pairLineOf(pair: PassPair, context: JudgeContext): PassPairLine {
  const { cells, overlapArea, comparedArea, meanDz, rmsDz, maxDz, shift, shiftStd, observable, directions } = pair;
  return {
    a: passLabel(context.delivery, pair.a),
    b: passLabel(context.delivery, pair.b),
    cells,
    overlapArea,
    comparedArea,
    comparedShare: comparedShareOf(pair),
    meanDz,
    rmsDz,
    maxDz,
    shift,
    shiftStd,
    observable,
    ...(directions.length > 0
      ? {
          directions: directions.map(({ name, direction, distance, std }) => ({
            name,
            direction: [...direction],
            shift: distance,
            std,
          })),
        }
      : {}),
  };
}

/**
 * The places with the largest height differences, in turn of every pair: the largest of each pair first, then the second of
 * each, so that one pair does not hide the others. Ten places, or one for each pair where there are more.
 */
export function pairPlaces(pairs: readonly { pair: PassPair; name: string }[], context: JudgeContext): Location[] {
  const items: Location[] = [];
  const most = Math.max(PLACES, pairs.length);
  for (let rank = 0; rank < PLACES; rank++) {
    for (const { pair, name } of pairs) {
      const place = pair.worst[rank];
      if (place && items.length < most) items.push(placeOf(place, name, context));
    }
  }
  return items;
}

function placeOf({ x, y, z, dz }: PassPair['worst'][number], name: string, { delivery }: JudgeContext): Location {
  const file = fileAt(delivery, x, y);
  return {
    x,
    y,
    z,
    ...(file ? { file } : {}),
    pass: name,
    value: dz,
    unit: 'm',
    note: 'height difference, second pass minus first pass',
    crossSectionRadius: 1.5,
  };
}
/** What every pair has in common. */
export function pairTable(pairs: readonly PassPair[], context: JudgeContext): Evidence {
  return {
    kind: 'table',
    title: 'Common surface of each pass pair',
    columns: [
      { key: 'a', title: 'first pass' },
      { key: 'b', title: 'second pass' },
      { key: 'shared', title: 'voxels with points of both', unit: 'count' as const },
      { key: 'dense', title: 'with enough points', unit: 'count' as const },
      { key: 'planes', title: 'with the same plane', unit: 'count' as const },
      { key: 'cells', title: 'level, heights compared', unit: 'count' as const },
      { key: 'rejected', title: 'isolated outliers left out', unit: 'count' as const },
      { key: 'overlapArea', title: 'ground seen by both', unit: 'm2' as const },
      { key: 'comparedArea', title: 'of it compared', unit: 'm2' as const },
      { key: 'comparedShare', title: 'share compared', unit: 'share' as const },
    ],
    rows: pairs.map((p) => [
      passLabel(context.delivery, p.a),
      passLabel(context.delivery, p.b),
      p.shared,
      p.dense,
      p.planes,
      p.cells,
      p.rejected,
      p.overlapArea,
      p.comparedArea,
      comparedShareOf(p),
    ]),
  };
}

/** Map of the height differences of a pair; where several surfaces share a cell of the plan, the largest difference. */
export function pairGrid(
  pair: PassPair,
  cell: number,
  maxDz: number | undefined,
  { delivery }: JudgeContext,
): Evidence[] {
  const { x, y, dz } = pair.map;
  if (dz.length === 0) return [];
  return [
    {
      kind: 'grid',
      title: `Height of ${passLabel(delivery, pair.b)} over ${passLabel(delivery, pair.a)}`,
      unit: 'm',
      cell,
      cells: largestByCell(x, y, dz, cell),
      ...(maxDz !== undefined ? { limit: maxDz } : {}),
      signed: true,
    },
  ];
}

/** Height differences with their places, pair by pair, for the limit of their RMS, else of the largest. */
export function heightsByPlace(
  tested: readonly { pair: PassPair; name: string }[],
  cell: number,
  { maxRmsDz, maxDz }: { maxRmsDz?: number; maxDz?: number },
): PlacedValues[] {
  const limit = maxRmsDz ?? maxDz;
  if (limit === undefined) return [];
  return [
    {
      kind: 'placed-values',
      title: maxRmsDz === undefined ? 'largest height difference of passes' : 'RMS of height differences of passes',
      statistic: maxRmsDz === undefined ? 'worst' : 'rms',
      unit: 'm',
      limit,
      sense: 'at-most',
      cell,
      sets: tested.map(({ pair: { map }, name }) => ({ name, places: map, value: map.dz })),
    },
  ];
}

/** The squares with the largest differences in plan of a pair. */
export function planPlaces(
  { stretches = [] }: PassPair,
  name: string,
  stretch: number,
  { delivery }: JudgeContext,
): Evidence[] {
  if (stretches.length === 0) return [];
  const items = placesOfLargest(
    stretches.map(({ offset }) => offset),
    PLACES,
  ).map((k): Location => {
    const { x, y, offset, whole } = stretches[k];
    const file = fileAt(delivery, x, y);
    return {
      x,
      y,
      ...(file ? { file } : {}),
      pass: name,
      value: offset,
      unit: 'm',
      note: `difference in plan over ${stretch} m around here${whole ? '' : ', in the one direction that is observable'}`,
    };
  });
  return [{ kind: 'locations', title: `Largest differences in plan between ${name}`, items }];
}

/** Map of the differences in plan of a pair, square by square. */
export function planGrid(
  { a, b, stretches = [] }: PassPair,
  stretch: number,
  maxPlan: number | undefined,
  { delivery }: JudgeContext,
): Evidence[] {
  if (stretches.length === 0) return [];
  const column = (pick: (s: (typeof stretches)[number]) => number) => Float64Array.from(stretches, pick);
  return [
    {
      kind: 'grid',
      title: `Difference in plan of ${passLabel(delivery, b)} from ${passLabel(delivery, a)}`,
      unit: 'm',
      cell: stretch,
      cells: largestByCell(
        column((s) => s.x),
        column((s) => s.y),
        column((s) => s.offset),
        stretch,
      ),
      ...(maxPlan !== undefined ? { limit: maxPlan, sense: 'at-most' as const } : {}),
      signed: false,
    },
  ];
}

/** Cells in bins of the limit, as the USGS base specification colours swath separation images: to 1, to 2, beyond. */
export function separationBins(pairs: readonly PassPair[], limit: number, context: JudgeContext): Evidence {
  return {
    kind: 'table',
    title: `Cells by height difference, in bins of ${length(limit)}`,
    columns: [
      { key: 'a', title: 'first pass' },
      { key: 'b', title: 'second pass' },
      { key: 'within', title: `to ${length(limit)}`, unit: 'count' },
      { key: 'review', title: `to ${length(2 * limit)}`, unit: 'count' },
      { key: 'beyond', title: 'beyond', unit: 'count' },
    ],
    rows: pairs.map((pair) => {
      const counts = [0, 0, 0];
      for (const dz of pair.map.dz) counts[Math.min(2, Math.floor(Math.abs(dz) / limit))]++;
      return [passLabel(context.delivery, pair.a), passLabel(context.delivery, pair.b), ...counts];
    }),
  };
}
