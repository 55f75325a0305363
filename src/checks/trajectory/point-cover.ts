import type { Drive } from '../../delivery/trajectory.js';
import type { PointSeconds } from '../../measure/point-seconds.js';
import type { Location } from '../contract/check.js';
import { BRIDGED, timeWords } from './drives.js';

/** Points against trajectory, by whole seconds of GPS time. */
export interface PointCover {
  points: number;
  /** Points in seconds in which no drive has a position. */
  without: number;
  /** Such seconds. */
  secondsWithout: number;
  /** Longest time of a drive without a point, between its first and its last one, seconds; null where no drive has points. */
  longestWithoutPoints: number | null;
  places: Location[];
}

/** Sets the points of each second beside the times at which the drives have positions; gaps are longer than BRIDGED. */
export function pointCover({ second, points, x, y }: PointSeconds, drives: readonly Drive[]): PointCover {
  const spans = drives.flatMap(spansOf).sort((a, b) => a[0] - b[0]);
  const cover: PointCover = { points: 0, without: 0, secondsWithout: 0, longestWithoutPoints: null, places: [] };
  let run: { from: number; to: number; points: number; at: number } | null = null;
  const close = () => {
    if (run === null) return;
    const note = `${run.points.toLocaleString('en-GB')} points without trajectory, from ${timeWords(run.from)}`;
    cover.places.push({ x: x[run.at], y: y[run.at], value: run.to - run.from, unit: 's', note });
    run = null;
  };
  let next = 0;
  for (let i = 0; i < second.length; i++) {
    cover.points += points[i];
    while (next < spans.length && spans[next][1] < second[i]) next++;
    if (next < spans.length && spans[next][0] < second[i] + 1) {
      close();
      continue;
    }
    cover.without += points[i];
    cover.secondsWithout++;
    if (run !== null && run.to === second[i]) {
      run.to++;
      run.points += points[i];
    } else {
      close();
      run = { from: second[i], to: second[i] + 1, points: points[i], at: i };
    }
  }
  close();
  cover.places.sort((a, b) => b.value! - a.value!).splice(20);
  for (const drive of drives) {
    const longest = longestWithoutPoints(drive, second);
    if (longest !== null && longest > (cover.longestWithoutPoints ?? -1)) cover.longestWithoutPoints = longest;
  }
  return cover;
}

/** Times from and to which a drive has positions without a gap. */
function spansOf({ time, epochs, interval }: Drive): [number, number][] {
  const spans: [number, number][] = [];
  let from = 0;
  for (let e = 0; e < epochs; e++) {
    if (e + 1 < epochs && interval[e] <= BRIDGED) continue;
    spans.push([time[from], time[e]]);
    from = e + 1;
  }
  return spans;
}

function longestWithoutPoints({ time, epochs }: Drive, second: Float64Array): number | null {
  let longest: number | null = null;
  let last: number | null = null;
  for (const s of second) {
    if (s + 1 <= time[0] || s > time[epochs - 1]) continue;
    if (last !== null && s - last > (longest ?? 0)) longest = s - last;
    last = s + 1;
    longest ??= 0;
  }
  return longest;
}
