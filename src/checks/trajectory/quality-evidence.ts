import type { Drive } from '../../delivery/trajectory.js';
import type { Evidence } from '../contract/check.js';
import { percent } from '../contract/wording.js';
import { chartLine, metresDriven } from './drives.js';
import { speedsOf } from './motion.js';

/** A chart of the speed of every drive. */
export function speedChart(drives: readonly Drive[]): Evidence {
  const lines = drives.map((drive) => {
    const speeds = speedsOf(drive);
    return chartLine(
      drive,
      drive.name,
      (e) => speeds[e],
      (a, b) => a > b,
    );
  });
  const along = { title: 'time since the begin of the drive', unit: 's' as const };
  return { kind: 'series', title: 'Speed along the drive', unit: 'km/h', along, lines };
}

/** The drives, with their times and lengths. */
export function drivesTable(drives: readonly Drive[]): Evidence {
  return {
    kind: 'table',
    title: 'Drives of the trajectory',
    columns: [
      { key: 'drive', title: 'drive' },
      { key: 'rows', title: 'rows', unit: 'count' },
      { key: 'from', title: 'first GPS time', unit: 's' },
      { key: 'to', title: 'last GPS time', unit: 's' },
      { key: 'metres', title: 'driven', unit: 'm' },
    ],
    rows: drives.map((drive) => [
      drive.name,
      drive.rows,
      drive.time[0],
      drive.time[drive.epochs - 1],
      metresDriven(drive, 0, drive.epochs - 1),
    ]),
  };
}

/** A value with its unit, for a sentence. */
export function inUnit(value: number, unit: string): string {
  switch (unit) {
    case 'm':
      return `${value.toFixed(3)} m`;
    case 'degree':
      return `${value.toFixed(3)} degree`;
    case 'share':
      return percent(value);
    case 'km/h':
      return `${value.toFixed(1)} km/h`;
    case 's':
      return `${value.toFixed(2)} s`;
    default:
      return `${Math.round(value * 100) / 100}`;
  }
}
