import type { SceneColumns } from '../writer/point-columns.js';

/** Raises (or lowers) all points in place: a wrong geoid or antenna height. Rounded to 1 mm. */
export function addVerticalBias(points: SceneColumns, metres: number): void {
  for (let i = 0; i < points.count; i++) points.z[i] = Math.round((points.z[i] + metres) * 1000) / 1000;
}

/** Divides coordinates in place by metres a unit: from metres to feet, rightly or by mistake. Not rounded. */
export function changeUnit(points: SceneColumns, horizontalMetres: number, verticalMetres: number): void {
  for (let i = 0; i < points.count; i++) {
    points.x[i] /= horizontalMetres;
    points.y[i] /= horizontalMetres;
    points.z[i] /= verticalMetres;
  }
}
