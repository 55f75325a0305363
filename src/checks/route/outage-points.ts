import { outagesOf } from '../../delivery/drive-events.js';
import type { SurveyPoint } from '../../delivery/survey-points.js';
import type { Drive } from '../../delivery/trajectory.js';
import { LineIndex } from '../../geometry/nearest-on-line.js';

/** An outage without a survey point beside the way driven meanwhile; x and y of its middle, metres. */
export interface OutageWithoutPoint {
  name: string;
  x: number;
  y: number;
  seconds: number;
}

/** The outages of so many seconds or more that have no survey point within a distance of the way driven meanwhile. */
export function outagesWithoutPoint(
  drives: readonly Drive[],
  points: readonly SurveyPoint[],
  seconds: number,
  width: number,
): OutageWithoutPoint[] {
  return drives.flatMap((drive) =>
    outagesOf(drive)
      .filter(({ from, to }) => to - from >= seconds)
      .flatMap(({ from, to }) => {
        const first = drive.time.findIndex((time) => time >= from);
        let last = first;
        while (last + 1 < drive.epochs && drive.time[last + 1] <= to) last++;
        const index = trackOf(drive, first, last);
        if (points.some(({ x, y }) => index.nearest(x, y, width) !== null)) return [];
        const middle = (first + last) >> 1;
        return [{ name: drive.name, x: drive.x[middle], y: drive.y[middle], seconds: to - from }];
      }),
  );
}

/** Positions of a drive from one epoch to another; one position twice where it stands for all. */
function trackOf({ x, y }: Drive, first: number, last: number): LineIndex {
  const end = Math.max(last, first + 1);
  const track = { x: x.slice(first, end + 1), y: y.slice(first, end + 1) };
  return new LineIndex({ ...track, distance: new Float64Array(track.x.length) });
}
