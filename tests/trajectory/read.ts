import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { statedTime } from '../../src/delivery/time-systems.js';
import type { Trajectory } from '../../src/delivery/trajectory.js';
import type { CloudSide } from '../../src/trajectory/place.js';
import { readTrajectory } from '../../src/trajectory/trajectory.js';
import { fileOf } from '../checks/judge.js';

/** A cloud in EPSG:25832 of 200 m by 100 m, in adjusted standard GPS time (bit 0), with points from second 1000 to 1100 of 2025. */
export const START = 1_419_724_818 - 1e9;

export function cloudOf(more: Partial<CloudSide> = {}, header: Record<string, unknown> = {}): CloudSide {
  const file = fileOf('a.laz', 0, {
    header: { globalEncoding: 1, min: [560_000, 5_930_000, 10], max: [560_200, 5_930_100, 20], ...header },
  });
  return {
    files: [file],
    crs: file.crs,
    declared: { horizontal: null, vertical: null, unit: null },
    metresPerUnit: 1,
    metresPerUnitHeight: 1,
    times: Float64Array.from({ length: 101 }, (_, i) => START + 1000 + i),
    ...more,
  };
}

/** Reads texts as files of one trajectory. */
export async function read(
  texts: string | Uint8Array | readonly (string | Uint8Array)[],
  cloud: CloudSide = cloudOf(),
  more: { crs?: string; time?: string; ext?: string } = {},
): Promise<Trajectory> {
  const folder = mkdtempSync(join(tmpdir(), 'cloudassay-trajectory-'));
  try {
    const paths = (typeof texts === 'string' || texts instanceof Uint8Array ? [texts] : texts).map((text, i) => {
      const path = join(folder, `drive${i + 1}.${more.ext ?? 'csv'}`);
      writeFileSync(path, text);
      return path;
    });
    const options = { crs: more.crs ?? null, time: more.time ? statedTime(more.time) : null, cloud };
    return (await readTrajectory(paths, options)).trajectory;
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/** Rows of a drive along x at 10 m/s, ten a second, from second 990 to 1110. */
export function rows(row: (second: number, x: number, y: number) => string): string {
  return Array.from({ length: 1201 }, (_, i) => {
    const second = 990 + i / 10;
    return `${row(second, 560_000 + (second - 1000) * 2, 5_930_050)}\n`;
  }).join('');
}
