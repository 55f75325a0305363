import { mean, standardDeviation } from '../../geometry/statistics.js';
import { figure, length, plural, signedLength } from '../contract/wording.js';
import { footForFoot } from './foot-for-foot.js';
import type { AdviceRule } from './rule.js';

const ALARM = 0.25;
const SIGNIFICANT = 3;
/** Share of the points whose difference points the same way, within 45 degrees either side. */
const ONE_WAY = 0.9;

export const planOffsetOneWay: AdviceRule<'plan'> = {
  id: 'plan-offset-one-way',
  title: 'another datum or epoch',
  why: 'A cloud in another realisation of the datum, or at another epoch, lies off by the same vector everywhere.',
  sources: [
    {
      standard: 'ASPRS Positional Accuracy Standards, Edition 2',
      clause: '7.2',
      note: 'a mean error above a quarter of the RMSE asked for is to be investigated',
    },
    {
      standard: 'common practice',
      note: 'nine of ten points within 45 degrees of the mean; plates move by centimetres a year',
    },
  ],
  reads: 'plan',

  advise(facts) {
    const { points, limit } = facts;
    if (points.length < 3 || footForFoot(facts)) return null;
    const [dx, dy] = [points.map((p) => p.dx), points.map((p) => p.dy)];
    const [east, north] = [mean(dx), mean(dy)];
    const size = Math.hypot(east, north);
    const spread = Math.hypot(standardDeviation(dx), standardDeviation(dy));
    if (size <= ALARM * limit || size <= (SIGNIFICANT * spread) / Math.sqrt(points.length)) return null;
    const along = points.filter((p) => p.dx * east + p.dy * north >= Math.SQRT1_2 * size * Math.hypot(p.dx, p.dy));
    const share = along.length / points.length;
    if (share < ONE_WAY) return null;
    return {
      text: `At ${along.length} of ${plural(points.length, 'check point')} the cloud lies off the same way, ${signedLength(east)} east and ${signedLength(north)} north on average (${length(size)}, scatter ${length(spread)}): compare datum, realisation and epoch of the cloud, of the base station or correction service, and of the points.`,
      figures: {
        east: figure(east, 'm'),
        north: figure(north, 'm'),
        spread: figure(spread, 'm'),
        share: figure(share, 'share'),
      },
    };
  },
};
