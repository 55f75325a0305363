/** A surveyed point, in metres in the cloud's coordinate system. */
export interface SurveyPoint {
  id: string;
  role: 'control' | 'check';
  x: number;
  y: number;
  z: number;
  surface: 'hard' | 'vegetated';
  /** The same point measured by hand in the cloud. */
  cloudX: number | null;
  cloudY: number | null;
  cloudZ: number | null;
  /** Standard deviation of the survey, metres; horizontal is per axis. */
  sigmaH: number | null;
  sigmaV: number | null;
}
