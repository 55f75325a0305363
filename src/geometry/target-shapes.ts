/** Kinds of survey targets on the ground, bright on darker ground. */
export type TargetKind = 'disc' | 'checker' | 'cross' | 'corner';

/** All kinds of targets. */
export const TARGET_KINDS: readonly TargetKind[] = ['disc', 'checker', 'cross', 'corner'];

/** A target lying on a plane. Lengths in metres. */
export interface TargetPose {
  x: number;
  y: number;
  /** Direction of its first axis, radians counter-clockwise from x; means nothing for a disc. */
  angle: number;
  /** Half-width of the blurred edge, from the laser footprint and the horizontal scatter of the points, metres. */
  edge: number;
  /** Width of the bars of a cross or a corner, a share of the size; not used by the others. */
  bar: number;
}

/** Angles that look alike are this far apart, radians; 0: every angle looks alike. */
export const SYMMETRY: Readonly<Record<TargetKind, number>> = {
  disc: 0,
  checker: Math.PI,
  cross: Math.PI / 2,
  corner: 2 * Math.PI,
};

/** Bars are a fifth of the size wide unless the cloud says otherwise. */
export const USUAL_BAR = 0.2;

/** Radius of the target around its centre, metres. */
export function radiusOf(kind: TargetKind, size: number): number {
  switch (kind) {
    case 'disc':
    case 'cross':
      return size / 2;
    case 'checker':
      return size * Math.SQRT1_2;
    case 'corner':
      return size * 0.73;
  }
}

/** Where the middle of the target lies from its point of reference, along both axes, a share of the size. */
export function middleOf(kind: TargetKind): number {
  return kind === 'corner' ? 0.4 : 0;
}

/** Area of the bright parts, in squares of the size. */
export function brightArea(kind: TargetKind): number {
  switch (kind) {
    case 'disc':
      return Math.PI / 4;
    case 'checker':
      return 0.5;
    case 'cross':
    case 'corner':
      return 2 * USUAL_BAR - USUAL_BAR * USUAL_BAR;
  }
}

/** Whether the target has a plate of its own around its bright parts, with a third level of brightness. */
export function hasPlate(kind: TargetKind): boolean {
  return kind === 'checker';
}

/**
 * Writes for each of n points how much of it is bright target (0 to 1) and, for a checker, how much is plate.
 *
 * disc: a bright circle of diameter `size`. checker: a square plate of edge `size`, the quadrants between the first axis
 * and the second one and opposite are bright. cross: two bars of length `size`, crossing in their middles. corner: two
 * bars of length `size` along the axes from their common outer corner, which is the point of reference.
 */
export function shadeTarget(
  kind: TargetKind,
  size: number,
  pose: TargetPose,
  x: Float64Array,
  y: Float64Array,
  n: number,
  bright: Float64Array,
  plate: Float64Array,
): void {
  const cos = Math.cos(pose.angle);
  const sin = Math.sin(pose.angle);
  const half = size / 2;
  const { edge } = pose;
  const width = pose.bar * size;
  for (let i = 0; i < n; i++) {
    const dx = x[i] - pose.x;
    const dy = y[i] - pose.y;
    const u = dx * cos + dy * sin;
    const v = dy * cos - dx * sin;
    switch (kind) {
      case 'disc':
        bright[i] = inside(half - Math.sqrt(u * u + v * v), edge);
        break;
      case 'checker': {
        const square = inside(half - Math.abs(u), edge) * inside(half - Math.abs(v), edge);
        // Twice `inside` less one changes sign across an axis; the product is 1 in two opposite quadrants, -1 in the others.
        const sign = (2 * inside(u, edge) - 1) * (2 * inside(v, edge) - 1);
        bright[i] = square * 0.5 * (1 + sign);
        plate[i] = square;
        break;
      }
      case 'cross': {
        const along = inside(half - Math.abs(u), edge) * inside(width / 2 - Math.abs(v), edge);
        const across = inside(half - Math.abs(v), edge) * inside(width / 2 - Math.abs(u), edge);
        bright[i] = along + across - along * across;
        break;
      }
      case 'corner': {
        const first = inside(Math.min(u, size - u), edge) * inside(Math.min(v, width - v), edge);
        const second = inside(Math.min(v, size - v), edge) * inside(Math.min(u, width - u), edge);
        bright[i] = first + second - first * second;
      }
    }
  }
}

/** How much of a blurred edge lies inside: 0 from one and a half half-widths outside, 1/2 on the edge; a smooth cubic. */
function inside(distance: number, edge: number): number {
  const t = distance / (1.5 * edge);
  if (t >= 1) return 1;
  if (t <= -1) return 0;
  return 0.5 + t * (0.75 - 0.25 * t * t);
}
