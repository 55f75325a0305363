/** How points are spread over an area. Lengths in the unit of the coordinates. */
export interface PointSpread {
  n: number;
  /** Diagonal of the area. */
  diagonal: number;
  /** Points in each quarter of the area, and the smallest share of all points in one. */
  quarters: [number, number, number, number];
  leastShare: number;
  /** Smallest distance between two points, and which; null for fewer than two. */
  spacing: number | null;
  nearest: [number, number] | null;
  /** Extent of the points against that of the area, 0 to 1 (more where points lie outside). */
  extentShare: number;
}

/** minimum x and y, maximum x and y. */
export type AreaBox = readonly [number, number, number, number];

/**
 * Spread of points over a rectangle. `area`: quarters are its four quadrants, as NSSDA (FGDC-STD-007.3-1998, appendix 3-C)
 * counts them. `corridor`: four equal sections along the direction in which the points spread most, for roads and tracks,
 * where two quadrants are necessarily empty.
 *
 * @throws RangeError for an area without extent
 */
export function spreadOf(
  x: ArrayLike<number>,
  y: ArrayLike<number>,
  box: AreaBox,
  layout: 'area' | 'corridor',
): PointSpread {
  const n = x.length;
  const [x0, y0, x1, y1] = box;
  const diagonal = Math.hypot(x1 - x0, y1 - y0);
  if (!(diagonal > 0)) throw new RangeError('the area of the points has no extent');
  const quarters: PointSpread['quarters'] = [0, 0, 0, 0];
  const along = layout === 'corridor' ? mainDirection(x, y, box) : null;
  const middleX = (x0 + x1) / 2;
  const middleY = (y0 + y1) / 2;
  let extentShare = 0;
  if (along) {
    const at = (px: number, py: number) => (px - middleX) * along[0] + (py - middleY) * along[1];
    const half = Math.max(Math.abs(at(x0, y0)), Math.abs(at(x0, y1)));
    let low = Number.POSITIVE_INFINITY;
    let high = Number.NEGATIVE_INFINITY;
    for (let i = 0; i < n; i++) {
      const t = at(x[i], y[i]);
      quarters[Math.min(3, Math.max(0, Math.floor(((t + half) / half) * 2)))]++;
      low = Math.min(low, t);
      high = Math.max(high, t);
    }
    extentShare = n > 0 ? (high - low) / (2 * half) : 0;
  } else {
    for (let i = 0; i < n; i++) quarters[(x[i] < middleX ? 0 : 1) + (y[i] < middleY ? 0 : 2)]++;
    extentShare = n > 0 ? Math.hypot(extent(x), extent(y)) / diagonal : 0;
  }
  const pair = nearestPair(x, y);
  return {
    n,
    diagonal,
    quarters,
    leastShare: n > 0 ? Math.min(...quarters) / n : 0,
    spacing: pair ? pair.distance : null,
    nearest: pair ? pair.points : null,
    extentShare,
  };
}

function extent(values: ArrayLike<number>): number {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < values.length; i++) {
    low = Math.min(low, values[i]);
    high = Math.max(high, values[i]);
  }
  return high - low;
}

/** Direction of largest spread of the points; the longer side of the area where they do not spread. */
function mainDirection(x: ArrayLike<number>, y: ArrayLike<number>, [x0, y0, x1, y1]: AreaBox): [number, number] {
  const n = x.length;
  let mx = 0;
  let my = 0;
  for (let i = 0; i < n; i++) {
    mx += (x[i] - x0) / n;
    my += (y[i] - y0) / n;
  }
  let xx = 0;
  let xy = 0;
  let yy = 0;
  for (let i = 0; i < n; i++) {
    const dx = x[i] - x0 - mx;
    const dy = y[i] - y0 - my;
    xx += dx * dx;
    xy += dx * dy;
    yy += dy * dy;
  }
  if (!(xx + yy > 0)) return x1 - x0 >= y1 - y0 ? [1, 0] : [0, 1];
  const angle = Math.atan2(2 * xy, xx - yy) / 2;
  return [Math.cos(angle), Math.sin(angle)];
}

/** Two points nearest to each other, by a sweep along x; of equals the first in order. */
function nearestPair(
  x: ArrayLike<number>,
  y: ArrayLike<number>,
): { points: [number, number]; distance: number } | null {
  const order = Array.from({ length: x.length }, (_, i) => i).sort((a, b) => x[a] - x[b] || y[a] - y[b] || a - b);
  let points: [number, number] | null = null;
  let distance = Number.POSITIVE_INFINITY;
  for (let i = 0; i < order.length; i++) {
    for (let j = i + 1; j < order.length && x[order[j]] - x[order[i]] < distance; j++) {
      const d = Math.hypot(x[order[j]] - x[order[i]], y[order[j]] - y[order[i]]);
      if (d < distance) {
        distance = d;
        points = [Math.min(order[i], order[j]), Math.max(order[i], order[j])];
      }
    }
  }
  return points ? { points, distance } : null;
}
