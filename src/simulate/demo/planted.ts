import type { DensityTruth } from '../scene/areas.js';
import type { Street } from '../scene/street.js';
import type { SurveyedPoint } from '../scene/survey.js';
import type { DemoFaults } from './demo-plan.js';

/** The known faults of a demo delivery, which a check must find. Lengths in metres. */
export interface Planted {
  faults: DemoFaults;
  noise: number;
  surveySigma: number;
  street: Street;
  points: number;
  passes: { pointSourceId: number; points: number; shift: readonly [number, number, number] }[];
  /** Height of pass 2 above pass 1 on the carriageway: the shift as a level surface with this slope shows it. */
  passTwoDz: number;
  /** Mean of cloud minus survey over the check points but the blunder, if all passes count alike. */
  meanDz: number;
  checkPoints: readonly SurveyedPoint[];
  controlPoints: readonly SurveyedPoint[];
  blunderId: string | null;
  voidArea: number;
  /** Cells of 1 m wholly inside the carriageway, all passes together. */
  density: DensityTruth;
  thinnedTile: string | null;
  headerTile: string | null;
  foreignTile: string | null;
  lazTile: string | null;
}
