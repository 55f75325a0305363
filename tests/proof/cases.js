// All cases of the proof. A case has an id, the number of runs of a short proof, and make(random), which returns observations.
// An observation has a claim; with planted and reported (and std or interval, and a tolerance of the mean error) where a size
// is compared; with expected and verdict where a verdict is.
import { timeCases } from './along-time.js';
import { coverageCases } from './coverage.js';
import { faultCases } from './faults.js';
import { intervalCases } from './intervals.js';
import { shiftCases } from './shifts.js';
import { soundCases } from './sound.js';
import { surveyCases } from './survey.js';
import { targetCases } from './targets.js';

export const cases = [
  ...shiftCases,
  ...timeCases,
  ...coverageCases,
  ...faultCases,
  ...surveyCases,
  ...soundCases,
  ...intervalCases,
  ...targetCases,
];
