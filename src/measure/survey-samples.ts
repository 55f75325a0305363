import { fitHeight } from '../geometry/height-plane.js';
import { type Derivation, requestFrom } from './contract/measurement.js';
import { type Neighbourhood, type SurveyNeighbourhoodsParams, surveyNeighbourhoods } from './survey-neighbourhoods.js';

/** Survey points, and which points around them are drawn. */
export interface SurveySamplesParams extends SurveyNeighbourhoodsParams {
  /** Points kept of all passes together, for drawing. */
  keep: number;
}

/** The cloud around one point, to be drawn: metres from the point, and the plane through it. */
export interface SurveySample {
  /** Points within the radius, kept or not. */
  found: number;
  /** Passes met, ascending; `pass` holds places in this list. */
  passes: number[];
  dx: Float64Array;
  dy: Float64Array;
  dz: Float64Array;
  pass: Uint8Array;
  /** Height over the point, and rise a metre of x and of y; null where no plane fits. */
  plane: { height: number; slopeX: number; slopeY: number } | null;
}

/** The cloud around survey points, worked out when it is asked for: few of many points are drawn. */
export interface SurveySamples {
  /** The sample around the point with this place in the list of survey points. */
  at(point: number): SurveySample;
}

/** More passes than this cannot be distinguished in a drawing, nor by one byte for each point. */
const MOST_PASSES = 255;

/**
 * For each survey point an unbiased sample of the cloud around it, metres from the point. The first k points of it are an
 * unbiased sample as well.
 */
export const surveySamples: Derivation<
  'survey-samples',
  typeof surveyNeighbourhoods,
  SurveySamplesParams,
  SurveySamples
> = {
  id: 'survey-samples',
  parameters: { points: 'required', radius: 'required', classes: 'required', most: 'required', keep: 'required' },
  from: ({ points, radius, classes, most }) => requestFrom(surveyNeighbourhoods, { points, radius, classes, most }),

  derive: ({ of }, { keep }) => ({ at: (point) => joinSample(of(point).slice(0, MOST_PASSES), keep) }),
};

/**
 * Points of all passes with the smallest hashes. Where a pass was too dense to be kept whole, all are cut at the smallest
 * hash that was dropped, so that every pass keeps its true weight.
 */
function joinSample(passes: readonly Neighbourhood[], keep: number): SurveySample {
  const ceiling = passes.reduce((least, p) => Math.min(least, p.ceiling ?? 0xffffffff), Number.POSITIVE_INFINITY);
  const all: { p: number; k: number; hash: number }[] = [];
  passes.forEach((one, p) => {
    for (let k = 0; k < one.dx.length && one.hash[k] <= ceiling; k++) all.push({ p, k, hash: one.hash[k] });
  });
  all.sort((a, b) => a.hash - b.hash || a.p - b.p || a.k - b.k);
  const pick = (of: (n: Neighbourhood) => Float64Array) => Float64Array.from(all, ({ p, k }) => of(passes[p])[k]);
  const [dx, dy, dz] = [pick((n) => n.dx), pick((n) => n.dy), pick((n) => n.dz)];
  const fit = all.length > 0 ? fitHeight(dx, dy, dz, all.length) : null;
  return {
    found: passes.reduce((sum, p) => sum + p.total, 0),
    passes: passes.map((p) => p.pass),
    dx: dx.slice(0, keep),
    dy: dy.slice(0, keep),
    dz: dz.slice(0, keep),
    pass: Uint8Array.from(all.slice(0, keep), ({ p }) => p),
    plane: fit && { height: fit.height, slopeX: fit.slopeX, slopeY: fit.slopeY },
  };
}
