import { fitLine } from '../../geometry/line-fit.js';
import { max, mean, min, standardDeviation } from '../../geometry/statistics.js';
import { figure, length, plural } from '../contract/wording.js';
import { unitMismatch } from './height-unit.js';
import type { AdviceRule, HeightFacts } from './rule.js';

const LEAST_POINTS = 6;
/** Share of the limit that the tilt must make from end to end, standard deviations of its slope, and share of the scatter it must explain. */
const ALARM = 0.5;
const SIGNIFICANT = 4;
const EXPLAINED = 0.5;

interface Tilt {
  /** Metres a metre, in the direction in which differences rise, and from end to end of the points. */
  slope: number;
  rise: number;
  extent: number;
  left: number;
  towards: string;
}

const WINDS = ['east', 'north-east', 'north', 'north-west', 'west', 'south-west', 'south', 'south-east'] as const;

/** The tilt of the differences along the longer or the shorter axis of the points, whichever is larger; null for none. */
function tiltOf({ points, limit }: HeightFacts): Tilt | null {
  const used = points.filter((p) => !p.blunder);
  if (used.length < LEAST_POINTS) return null;
  const [mx, my] = [mean(used.map((p) => p.x)), mean(used.map((p) => p.y))];
  let [xx, xy, yy] = [0, 0, 0];
  for (const { x, y } of used) {
    xx += (x - mx) ** 2;
    xy += (x - mx) * (y - my);
    yy += (y - my) ** 2;
  }
  // Along the principal axes of the points the two slopes do not disturb each other.
  const turn = Math.atan2(2 * xy, xx - yy) / 2;
  const dz = Float64Array.from(used, (p) => p.dz);
  const weight = new Float64Array(used.length).fill(1);
  let best: Tilt | null = null;
  for (const angle of [turn, turn + Math.PI / 2]) {
    const [cos, sin] = [Math.cos(angle), Math.sin(angle)];
    const along = Float64Array.from(used, (p) => (p.x - mx) * cos + (p.y - my) * sin);
    const line = fitLine(along, dz, weight, 0, used.length);
    if (!line) continue;
    const extent = max(along) - min(along);
    const rise = Math.abs(line.slope) * extent;
    const left = standardDeviation(dz.map((v, i) => v - line.slope * along[i]));
    if (rise <= ALARM * limit || Math.abs(line.slope) <= SIGNIFICANT * line.slopeStd) continue;
    if (left ** 2 > (1 - EXPLAINED) * standardDeviation(dz) ** 2) continue;
    const up = line.slope > 0 ? angle : angle + Math.PI;
    const wind = WINDS[((Math.round(up / (Math.PI / 4)) % 8) + 8) % 8];
    if (best === null || rise > best.rise) best = { slope: Math.abs(line.slope), rise, extent, left, towards: wind };
  }
  return best;
}

export const heightTilt: AdviceRule<'heights'> = {
  id: 'height-tilt',
  title: 'heights that tilt over the area',
  why: 'A geoid model left out or of another area, or control at one end only, tilts heights instead of lifting them.',
  sources: [
    {
      standard: 'common practice',
      note: 'least squares along the principal axes of the check points; four standard deviations, half of the scatter explained',
    },
  ],
  reads: 'heights',

  advise(facts) {
    const tilt = unitMismatch(facts) ? null : tiltOf(facts);
    if (!tilt) return null;
    const n = facts.points.filter((p) => !p.blunder).length;
    return {
      text: `Differences at ${plural(n, 'check point')} rise towards the ${tilt.towards} by ${length(tilt.rise)} over ${tilt.extent.toFixed(tilt.extent < 10 ? 1 : 0)} m, and scatter by only ${length(tilt.left)} about that slope: look for a geoid model that was left out or belongs to another area, for control at one end only, and for a trajectory that drifted over the whole job.`,
      figures: {
        rise: figure(tilt.rise, 'm'),
        extent: figure(tilt.extent, 'm'),
        slope: figure(tilt.slope, 'ratio'),
        left: figure(tilt.left, 'm'),
      },
    };
  },
};
