import { ALL_COLUMNS, BLOCK_POINTS, createBatch } from '../../src/cloud/columns.js';
import type { MeasuredBatch } from '../../src/measure/measurement.js';
import { createMeasuredBatch, place } from '../../src/run/world.js';
import type { SceneColumns } from '../../test-clouds/writer/point-columns.js';

const SCALE = [0.001, 0.001, 0.001] as const;

/** Points of a scene as measurements get them, without a file in between: coordinates in millimetres from the first point. */
export function* batchesOfScene(points: SceneColumns): Generator<MeasuredBatch> {
  const offset = [Math.floor(points.x[0]), Math.floor(points.y[0]), 0] as const;
  const columns = new Set(ALL_COLUMNS);
  const units = { address: '', planUnit: 1, heightUnit: 1 };
  for (let first = 0; first < points.count; first += BLOCK_POINTS) {
    const count = Math.min(BLOCK_POINTS, points.count - first);
    const raw = createBatch(columns, count, 0);
    raw.count = count;
    raw.first = first;
    for (let i = 0; i < count; i++) {
      raw.x[i] = Math.round((points.x[first + i] - offset[0]) / SCALE[0]);
      raw.y[i] = Math.round((points.y[first + i] - offset[1]) / SCALE[1]);
      raw.z[i] = Math.round((points.z[first + i] - offset[2]) / SCALE[2]);
      raw.pointSourceId[i] = points.pointSourceId?.[first + i] ?? 0;
      raw.returnNumber[i] = points.returnNumber?.[first + i] ?? 1;
      raw.returnCount[i] = points.returnCount?.[first + i] ?? 1;
      raw.classification[i] = points.classification?.[first + i] ?? 0;
      raw.gpsTime[i] = points.gpsTime?.[first + i] ?? 0;
    }
    const batch = createMeasuredBatch(raw, count);
    place(batch, raw, { scale: SCALE, offset }, 0, units, { by: 'point-source-id' });
    yield batch;
  }
}
