import type { SurveyPoint } from '../../src/delivery/survey-points.js';
import { surveyPoint } from './judge.js';

/** A survey point that was observed manually in the cloud, off by so many metres. */
export function measuredByHand(
  id: string,
  survey: readonly [number, number, number],
  off: readonly [number, number, number | null],
  more: Partial<SurveyPoint> = {},
): SurveyPoint {
  const [x, y, z] = survey;
  const cloudZ = off[2] === null ? null : z + off[2];
  return surveyPoint(id, { x, y, z, cloudX: x + off[0], cloudY: y + off[1], cloudZ, ...more });
}

/**
 * Seven check points printed in Photogrammetric Engineering & Remote Sensing, May 2014, p. 397, with their residuals; the
 * page prints the standard deviations 0.075, 0.073 and 0.030 m. RMSE worked out from the residuals as printed.
 */
export const PERS_2014 = {
  points: [
    measuredByHand('CHK1', [435497.833, 5180054.928, 345.664], [-0.06, 0.08, 0.055]),
    measuredByHand('CHK2', [435725.556, 5165270.361, 468.892], [0.1, -0.045, -0.006]),
    measuredByHand('CHK3', [435979.496, 5175221.31, 443.026], [-0.06, 0.08, -0.017]),
    measuredByHand('CHK4', [439669.421, 5188155.808, 190.813], [-0.112, 0.007, 0.042]),
    measuredByHand('CHK5', [448111.664, 5184557.992, 190.458], [-0.12, 0.15, -0.011]),
    measuredByHand('CHK6', [450709.372, 5164362.835, 433.851], [-0.1, -0.045, 0.013]),
    measuredByHand('CHK7', [452302.531, 5175489.942, 226.23], [-0.06, 0.08, 0.048]),
  ],
  std: [0.075, 0.073, 0.03],
  rmse: [0.090825, 0.080887, 0.033183],
  rmseH: 0.121622,
  rmse3d: 0.126067,
};

/**
 * Five check points of the ASPRS Positional Accuracy Standards, Edition 1 (2014), Annex D, Table D.1, residuals from
 * memory of it; the figures remembered as printed are 0.102, 0.106, 0.081 (RMSE) and 0.147 (RMSE_r).
 */
export const ASPRS_2014_D1 = {
  points: [
    measuredByHand('GCP1', [359584.534, 5142450.004, 477.198], [-0.14, -0.07, -0.071]),
    measuredByHand('GCP2', [359872.29, 5147939.28, 412.396], [-0.1, -0.1, 0.01]),
    measuredByHand('GCP3', [359893.072, 5136979.894, 487.19], [0.017, -0.07, 0.102]),
    measuredByHand('GCP4', [359927.264, 5151083.979, 393.691], [-0.07, 0.15, -0.1]),
    measuredByHand('GCP5', [372736.944, 5151675.879, 451.218], [0.13, 0.12, 0.087]),
  ],
  rmse: [0.102, 0.106, 0.081],
  rmseH: 0.147,
};
