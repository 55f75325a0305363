import type { EdgeStep } from '../../measure/edge-steps.js';
import type { Evidence, Location, State } from '../contract/check.js';
import { length, plural } from '../contract/wording.js';

/** One pass across one border against the limits. */
export interface JudgedCrossing {
  edge: EdgeStep;
  pass: string;
  files: [string, string];
  /** Whether all that is limited could be judged. */
  complete: boolean;
  state: State;
  excess: number;
  text: string;
}

/** Layers of vertical surfaces that a shift must rest on. */
const LEAST_WALLS = 6;

/** Shift at right angles to the walls; null where too few of them cross the border. */
export function shiftOf({ walls, shift }: EdgeStep): number | null {
  return walls >= LEAST_WALLS ? shift : null;
}

/** Where a horizontal shift could be seen, and in which direction. */
export function horizontalWords(judged: readonly JudgedCrossing[]): string {
  const bearings = judged.flatMap(({ edge }) =>
    shiftOf(edge) === null ? [] : [Math.round(edge.shiftBearing ?? 0) % 180],
  );
  if (bearings.length === 0) return 'too few walls cross a border to show a horizontal shift';
  const all = new Set(bearings);
  const direction = all.size === 1 ? ` (bearing ${bearings[0]}° or ${bearings[0] + 180}°)` : '';
  return `a horizontal shift could be seen at ${bearings.length} of ${plural(judged.length, 'crossing')}, at right angles to the walls there${direction} and not along them`;
}

/** Where a crossing breaks most; `steps`: whether heights are judged. */
export function placesOf({ edge, pass, files }: JudgedCrossing, steps: boolean): Location[] {
  return edge.places.map(({ x, y, z, step, gap }) => ({
    x,
    y,
    z,
    file: files[1],
    pass,
    value: steps && step !== null ? step : gap,
    unit: 'm',
    note:
      steps && step !== null
        ? `height of ${files[1]} over ${files[0]} at the border, slit of ${length(gap)}`
        : 'width without points across the border',
    crossSectionRadius: 2,
  }));
}

/** Every crossing with its figures. */
export function crossingTable(judged: readonly JudgedCrossing[]): Evidence {
  return {
    kind: 'table',
    title: 'Passes across tile borders',
    columns: [
      { key: 'pass', title: 'pass' },
      { key: 'low', title: 'file to the west or south' },
      { key: 'high', title: 'file beyond' },
      { key: 'cells', title: 'cells with a horizontal surface', unit: 'count' },
      { key: 'step', title: 'step', unit: 'm' },
      { key: 'stepStd', title: 'its standard deviation', unit: 'm' },
      { key: 'shift', title: 'shift of walls', unit: 'm' },
      { key: 'shiftBearing', title: 'bearing in which walls show it', unit: 'degree' },
      { key: 'gapCells', title: 'cells with points on both sides', unit: 'count' },
      { key: 'gap', title: 'slit', unit: 'm' },
      { key: 'partGap', title: 'slit in a part of the border', unit: 'm' },
    ],
    rows: judged.map(({ edge, pass, files }) => [
      pass,
      files[0],
      files[1],
      edge.cells,
      edge.step,
      edge.stepStd,
      shiftOf(edge),
      shiftOf(edge) === null ? null : edge.shiftBearing,
      edge.gapCells,
      edge.gap,
      edge.partGap,
    ]),
  };
}
