/** A survey target painted on the ground: what is bright of it and what is plate, by plain geometry without any blur. */
export interface PaintedTarget {
  kind: 'disc' | 'checker' | 'cross' | 'corner';
  /** Diameter, edge, or length of the bars, metres; bars are a fifth as wide unless said. */
  size: number;
  bar?: number;
  x: number;
  y: number;
  /** Radians, counter-clockwise from x. */
  angle: number;
}

/** Whether a place lies on the bright parts, and on the plate, of a target. */
function paintAt(target: PaintedTarget, x: number, y: number): { bright: boolean; plate: boolean } {
  const { kind, size, angle } = target;
  const dx = x - target.x;
  const dy = y - target.y;
  const u = dx * Math.cos(angle) + dy * Math.sin(angle);
  const v = dy * Math.cos(angle) - dx * Math.sin(angle);
  const half = size / 2;
  const width = (target.bar ?? 0.2) * size;
  switch (kind) {
    case 'disc':
      return { bright: Math.hypot(u, v) < half, plate: false };
    case 'checker': {
      const plate = Math.abs(u) < half && Math.abs(v) < half;
      return { bright: plate && u * v > 0, plate };
    }
    case 'cross': {
      const bright = (Math.abs(u) < half && Math.abs(v) < width / 2) || (Math.abs(v) < half && Math.abs(u) < width / 2);
      return { bright, plate: false };
    }
    case 'corner': {
      const within = u > 0 && v > 0 && u < size && v < size;
      return { bright: within && (u < width || v < width), plate: false };
    }
  }
}

/** Intensities of ground, bright paint and dark plate. */
export const PAINT = { ground: 9000, bright: 31_000, plate: 4000 } as const;

/** Turn from one sample of a footprint to the next: the golden angle. */
const GOLDEN_ANGLE = Math.PI * (3 - Math.sqrt(5));
const FOOTPRINT_SAMPLES = 16;

/** Intensity a laser spot of a radius (metres) gets back at a place, without noise: the mean over the spot. */
export function spotIntensity(target: PaintedTarget, x: number, y: number, spotRadius: number): number {
  let sum = 0;
  for (let k = 0; k < FOOTPRINT_SAMPLES; k++) {
    const r = spotRadius * Math.sqrt((k + 0.5) / FOOTPRINT_SAMPLES);
    const { bright, plate } = paintAt(target, x + r * Math.cos(k * GOLDEN_ANGLE), y + r * Math.sin(k * GOLDEN_ANGLE));
    sum += bright ? PAINT.bright : plate ? PAINT.plate : PAINT.ground;
  }
  return sum / FOOTPRINT_SAMPLES;
}
