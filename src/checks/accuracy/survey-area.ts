import { zoneByName } from '../../delivery/zones.js';
import type { AreaBox } from '../../geometry/point-spread.js';
import type { JudgeContext } from '../contract/check.js';

/** The rectangle the survey should cover: that of the zone, else that of the clouds by their headers. World metres; null when unknown. */
export function surveyArea(zoneName: string | undefined, { delivery }: JudgeContext): AreaBox | null {
  let x0 = Number.POSITIVE_INFINITY;
  let y0 = x0;
  let x1 = Number.NEGATIVE_INFINITY;
  let y1 = x1;
  const take = (x: number, y: number) => {
    x0 = Math.min(x0, x);
    y0 = Math.min(y0, y);
    x1 = Math.max(x1, x);
    y1 = Math.max(y1, y);
  };
  if (zoneName !== undefined) {
    for (const { outer } of zoneByName(delivery, zoneName).polygons)
      for (let i = 0; i + 1 < outer.length; i += 2) take(outer[i], outer[i + 1]);
  } else {
    for (const { header, horizontalUnit } of delivery.files) {
      if (header === null || header.pointCount === 0) continue;
      take(header.min[0] * horizontalUnit, header.min[1] * horizontalUnit);
      take(header.max[0] * horizontalUnit, header.max[1] * horizontalUnit);
    }
  }
  return x1 > x0 || y1 > y0 ? [x0, y0, x1, y1] : null;
}
