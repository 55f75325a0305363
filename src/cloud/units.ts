/** A unit of length (or, for geographic systems, of angle). */
export interface Unit {
  name: string;
  /** Metres in one unit; NaN for angles, which are no lengths. */
  metres: number;
}

/** The metre. */
export const METRE: Unit = { name: 'metre', metres: 1 };
/** The international foot, 0.3048 m exactly. */
export const FOOT: Unit = { name: 'foot', metres: 0.3048 };
/** Exact by definition: 1200/3937 metre. */
export const US_SURVEY_FOOT: Unit = { name: 'US survey foot', metres: 1200 / 3937 };
/** The degree, an angle: its length in metres is NaN. */
export const DEGREE: Unit = { name: 'degree', metres: Number.NaN };

/** Linear units by EPSG code (EPSG dataset, unit of measure table; also the values of GeoTIFF linear unit keys). */
const BY_EPSG: Readonly<Record<number, Unit>> = {
  1025: { name: 'millimetre', metres: 0.001 },
  1033: { name: 'centimetre', metres: 0.01 },
  9001: METRE,
  9002: FOOT,
  9003: US_SURVEY_FOOT,
  9005: { name: "Clarke's foot", metres: 0.3047972654 },
  9036: { name: 'kilometre', metres: 1000 },
  9040: { name: "Sears' yard", metres: 0.914398414616029 },
  9080: { name: 'Indian foot', metres: 0.3047995102481469 },
  9093: { name: 'statute mile', metres: 1609.344 },
  9094: { name: 'Gold Coast foot', metres: 0.3047997101815088 },
  9096: { name: 'yard', metres: 0.9144 },
};

/** The linear unit with an EPSG code, or null. */
export function unitByEpsg(code: number): Unit | null {
  return BY_EPSG[code] ?? null;
}

/** Relative difference below which a printed factor means the exact unit; foot and US survey foot are 2e-6 apart. */
const SAME = 2e-7;

/** A unit from the name and the factor in a WKT or GeoTIFF record; known factors become exact. */
export function unitByFactor(name: string, metres: number): Unit {
  for (const unit of [METRE, FOOT, US_SURVEY_FOOT]) {
    if (Math.abs(metres / unit.metres - 1) < SAME) return unit;
  }
  return { name, metres };
}

/** Whether two units are the same length (or both angles). */
export function sameUnit(a: Unit, b: Unit): boolean {
  return Object.is(a.metres, b.metres) || Math.abs(a.metres / b.metres - 1) < SAME;
}
