/** A change of stationing; the internal distance is the start station plus metres from the begin. All metres. */
interface StationChange {
  internal: number;
  back: number;
  ahead: number;
  increasing: boolean;
}

/** The stationing of a line, metres. Equations are in the order of the line. */
export interface Stationing {
  startStation: number;
  length: number;
  equations: readonly StationChange[];
}

/** A stretch of a line in which stations run on without a change. */
interface StationStretch {
  /** Metres from the begin of the line. */
  from: number;
  to: number;
  /** Station at `from`, and +1 or -1: how it goes on. */
  station: number;
  sign: 1 | -1;
  /**
   * Station from which on a stretch is still counted in the unit before, such as 27+1000.66 where kilometre 27 has more than 1000 m;
   * null where every station is counted in its own unit.
   */
  longFrom: number | null;
}

/** A station as it is written: the whole number before the plus, null where it was written as one number. */
export interface WrittenStation {
  whole: number | null;
  /** Station in metres. */
  station: number;
}

/** Notation of stations, and the metres in the unit that they are written in: 1, or those of a foot. */
export interface StationStyle {
  notation: '3+250' | 'km 3.250' | '41+57.95';
  metresPerUnit: number;
}

/** Distances nearer than this are one place, metres. */
const SAME = 1e-6;

/** The stretches between the equations of a line, in its order; `style` says which stations are whole ones. */
function stretchesOf({ startStation, length, equations }: Stationing, style: StationStyle): StationStretch[] {
  const unit = unitOf(style);
  const isWhole = (station: number) => Math.abs(station / unit - Math.round(station / unit)) * unit < SAME;
  const begin: StationChange = { internal: startStation, back: startStation, ahead: startStation, increasing: true };
  const changes = [begin, ...equations];
  return changes.map((change, i) => {
    const next = changes[i + 1];
    const from = change.internal - startStation;
    const to = next ? next.internal - startStation : length;
    const sign = change.increasing ? 1 : -1;
    const border = change.increasing ? next?.ahead : i > 0 ? change.back : undefined;
    const top = change.increasing ? change.ahead + to - from : change.ahead;
    const long = border !== undefined && isWhole(border) && top > border + SAME && top < border + unit;
    return { from, to, station: change.ahead, sign, longFrom: long ? border : null };
  });
}

/**
 * Station at a distance from the begin, metres: station(d) = s + k (d - d0), k = +1 or -1, from the last equation at or before d. At an
 * equation it is the station ahead.
 */
export function stationAt({ startStation, equations }: Omit<Stationing, 'length'>, distance: number): number {
  const internal = startStation + distance;
  const change = equations.findLast((equation) => equation.internal <= internal);
  if (!change) return internal;
  const past = internal - change.internal;
  return change.ahead + (change.increasing ? past : -past);
}

/**
 * Every place of a line that has a station: its distance from the begin, ascending, metres. None where the station does not exist
 * (an equation leaves it out), several where it occurs more than once. A whole number before the plus must be that of the place, so
 * that 25+1001 and 26+001 are different places on a line with kilometres of different lengths.
 */
export function distancesOfStation(
  stationing: Stationing,
  { whole, station }: WrittenStation,
  style: StationStyle,
): number[] {
  const found: number[] = [];
  for (const stretch of stretchesOf(stationing, style)) {
    const distance = stretch.from + stretch.sign * (station - stretch.station);
    if (distance < stretch.from - SAME || distance > stretch.to + SAME) continue;
    if (whole !== null && wholeOf(station, stretch, style) !== whole) continue;
    const place = Math.min(stretch.to, Math.max(stretch.from, distance));
    if (!found.some((other) => Math.abs(other - place) < SAME)) found.push(place);
  }
  return found.sort((a, b) => a - b);
}

/**
 * The station at a distance from the begin as it is written, with so many decimals of the unit: 3+250.0, km 3.2500, 41+57.9. Stations
 * below zero begin with a minus.
 */
export function stationLabel(stationing: Stationing, distance: number, style: StationStyle, decimals = 1): string {
  const stretch = stretchesOf(stationing, style).findLast(({ from }) => from <= distance);
  const station = stationAt(stationing, distance);
  const long = stretch && stretch.longFrom !== null && station >= stretch.longFrom - SAME ? stretch.longFrom : null;
  return writtenStation(station, style, decimals, long === null ? null : Math.round(long / unitOf(style)) - 1);
}

/**
 * A station as it is written.
 * @param whole number before the plus where it is not that of the station, as on a kilometre of more than 1000 m
 */
export function writtenStation(
  station: number,
  style: StationStyle,
  decimals = 1,
  whole: number | null = null,
): string {
  const { notation, metresPerUnit } = style;
  const size = Number((Math.abs(station) / metresPerUnit).toFixed(decimals));
  const unit = notation === '41+57.95' ? 100 : 1000;
  const before = whole ?? Math.floor(size / unit);
  const sign = station < 0 && size > 0 ? '-' : '';
  if (notation === 'km 3.250' && whole === null) return `km ${sign}${(size / 1000).toFixed(3 + decimals)}`;
  const rest = (size - before * unit).toFixed(decimals);
  const digits = String(unit - 1).length + (decimals > 0 ? decimals + 1 : 0);
  return notation === 'km 3.250' ? `km ${sign}${before} + ${rest} m` : `${sign}${before}+${rest.padStart(digits, '0')}`;
}

/**
 * Reads a station in a notation; a number without a plus is in the unit of the notation: metres, kilometres after "km", feet.
 * @returns null where the text is no station
 */
export function parseStation(text: string, style: StationStyle): WrittenStation | null {
  const { notation, metresPerUnit } = style;
  const match = /^(km)?\s*([+-])?\s*(\d+(?:[.,]\d*)?)\s*(?:\+\s*(\d+(?:[.,]\d*)?)\s*m?)?$/i.exec(text.trim());
  if (!match) return null;
  const [, kilometres, minus, first, rest] = match;
  const sign = minus === '-' ? -1 : 1;
  const number = (part: string) => Number(part.replace(',', '.'));
  if (rest === undefined) {
    const factor = kilometres ? 1000 : metresPerUnit;
    return { whole: null, station: sign * number(first) * factor };
  }
  if (/[.,]/.test(first) || (kilometres && notation === '41+57.95')) return null;
  const unit = notation === '41+57.95' ? 100 : 1000;
  // Below zero the whole number is that of the size, which has no floor to be compared with.
  return {
    whole: sign < 0 ? null : number(first),
    station: sign * (number(first) * unit + number(rest)) * metresPerUnit,
  };
}

/** Metres of one whole number before the plus: a kilometre, or 100 ft. */
function unitOf({ notation, metresPerUnit }: StationStyle): number {
  return notation === '41+57.95' ? 100 * metresPerUnit : 1000;
}

/** The whole number before the plus of a station in a stretch. */
function wholeOf(station: number, { longFrom }: StationStretch, style: StationStyle): number {
  const long = longFrom !== null && station >= longFrom - SAME;
  return long ? Math.round(longFrom / unitOf(style)) - 1 : Math.floor((station + SAME) / unitOf(style));
}

/**
 * Cuts a line at the multiples of a length in its stations, and at its equations: distances from the begin, ascending, from 0 to the
 * length of the line. Every piece has a length.
 */
export function sectionBorders(stationing: Stationing, style: StationStyle, sectionLength: number): number[] {
  const borders = [0];
  for (const { from, to, station, sign } of stretchesOf(stationing, style)) {
    const first = sign > 0 ? Math.floor(station / sectionLength) + 1 : Math.ceil(station / sectionLength) - 1;
    for (let k = 0; ; k++) {
      const border = from + sign * ((first + sign * k) * sectionLength - station);
      if (border > to - SAME) break;
      if (border > borders[borders.length - 1] + SAME) borders.push(border);
    }
    if (to > borders[borders.length - 1] + SAME) borders.push(to);
  }
  return borders;
}
