/** A change of the stationing along a line: where the internal distance is `internal`, stations go on from `ahead`. */
export interface StationEquation {
  /** Distance along the line as if no equation applied: start station + metres from the begin, metres. */
  internal: number;
  /** Station before and after the place, metres. */
  back: number;
  ahead: number;
  /** Whether stations increase after it. */
  increasing: boolean;
}

/** How stations are written. */
export type StationNotation = '3+250' | 'km 3.250' | '41+57.95';

/** A planned line of the route, in the system of the cloud, metres. Arcs and spirals are replaced by chords within 1 mm. */
export interface RouteLine {
  name: string;
  /** Vertices, and the distance of each from the begin along the curve (not the chords), metres. */
  x: Float64Array;
  y: Float64Array;
  distance: Float64Array;
  /** Station of the begin, metres. */
  startStation: number;
  equations: readonly StationEquation[];
  /** Whether it is driven along the line, against it, or both ways; null where not stated. */
  direction: 'along' | 'against' | 'both' | null;
  lanes: number | null;
  plannedPasses: number | null;
}

/** The planned route. */
export interface Route {
  lines: readonly RouteLine[];
  notation: StationNotation;
  /** Metres in the unit that stations are written in: 1, or those of the foot for 41+57.95. */
  metresPerUnit: number;
  notes: readonly string[];
}

/** Where a place is along the route. */
export interface StationOffset {
  /** Index of the line in the route. */
  line: number;
  /** Metres from the begin of the line. */
  distance: number;
  /** Station after equations, metres; stations may exist twice, so `distance` is what is unique. */
  station: number;
  /** Metres from the line, right of it positive, left negative. */
  offset: number;
}

/** What the stationing of a line depends on, its length among it. */
export function stationingOf({ startStation, equations, distance }: RouteLine) {
  return { startStation, equations, length: distance[distance.length - 1] };
}
