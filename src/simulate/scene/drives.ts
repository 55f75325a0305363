import type { PassFaults } from './pass-faults.js';
import type { ScanPass } from './scan-options.js';

/** First GPS time of the scenes: 2025-01-01 00:00:00 GPS as standard time minus 1e9. */
export const FIRST_GPS_TIME = 419_724_800;

/** Options of a simulated drive. */
export interface DriveOptions {
  passes: number;
  /** Points a square metre of carriageway and pass, about. */
  density: number;
  pattern?: 'surface' | 'angle';
  /** Faults by pass, the first pass first. */
  faults?: readonly (PassFaults | undefined)[];
}

const HEAD_YAWS = [40, -40] as const;

/**
 * The usual drives along a street: forth in the right lane, back in the other, forth again in the second lane, and so on; ten minutes
 * apart; two heads turned 40 degrees to either side, so that walls across the street are seen too. Point source IDs 1, 2, 3 ...
 */
export function usualDrives(options: DriveOptions): ScanPass[] {
  const lanes = [-2, 2, 2.6, -2.6];
  const cos = Math.cos((HEAD_YAWS[0] * Math.PI) / 180);
  // Density of one pass = heads / (line spacing x point spacing x cos yaw).
  const area = HEAD_YAWS.length / (options.density * cos);
  const lineSpacing = Math.min(0.2, Math.max(0.05, Math.sqrt(area)));
  const spacing = area / lineSpacing;
  return Array.from({ length: options.passes }, (_, k) => ({
    pointSourceId: k + 1,
    lane: lanes[k % lanes.length],
    direction: k % 2 === 0 ? (1 as const) : (-1 as const),
    speed: 10,
    startTime: FIRST_GPS_TIME + 600 * k,
    headYaws: HEAD_YAWS,
    lineSpacing,
    pattern:
      options.pattern === 'angle'
        ? { by: 'angle' as const, stepDegrees: (spacing / 3.5) * (180 / Math.PI) }
        : { by: 'surface' as const, spacing },
    faults: options.faults?.[k],
  }));
}
