import { atMost, metric } from '../contract/metric.js';

/** Figures that the accuracy checks have in common. */
export const blunders = metric('blunders', 'count', atMost('maxBlunders'));
export const at95 = metric('accuracy at 95 %', 'm', atMost('maxAt95'));
export const largest = metric('largest difference', 'm', atMost('maxResidual'));
export const checkPoints = { n: metric('points', 'count'), used: metric('used', 'count') };
export const rmseParts = {
  rmseFit: metric('RMSE without survey accuracy', 'm'),
  rmseSurvey: metric('RMS of survey accuracy', 'm'),
};
export const accuracyClass = metric('accuracy class', 'm');
