/** A projected system that follows from its EPSG code. */
export interface KnownSystem {
  /** PROJ string, in metres. */
  definition: string;
  datum: string;
}

const GRS80 = '+ellps=GRS80 +towgs84=0,0,0 +units=m +no_defs';

/**
 * Families of projected systems that follow from their code (EPSG Geodetic Parameter Dataset): 326zz and 327zz, WGS 84 / UTM
 * north and south; 258zz, ETRS89 / UTM north, zones 28 to 38; 269zz, NAD83 / UTM north, zones 1 to 23; 283zz, GDA94 / MGA,
 * zones 48 to 58; 7846 to 7859, GDA2020 / MGA, zones 46 to 59; 3035 and 3034, ETRS89-extended LAEA and LCC of Europe. Null for
 * every other code.
 */
export function systemByCode(epsg: number): KnownSystem | null {
  const zone = epsg % 100;
  const within = (first: number, last: number) => zone >= first && zone <= last;
  const utm = (south: boolean, more: string) => `+proj=utm +zone=${zone}${south ? ' +south' : ''} ${more}`;
  switch (Math.floor(epsg / 100)) {
    case 326:
      return within(1, 60) ? { definition: utm(false, '+datum=WGS84 +units=m +no_defs'), datum: 'WGS 84' } : null;
    case 327:
      return within(1, 60) ? { definition: utm(true, '+datum=WGS84 +units=m +no_defs'), datum: 'WGS 84' } : null;
    case 258:
      return within(28, 38) ? { definition: utm(false, GRS80), datum: 'ETRS89' } : null;
    case 269:
      return within(1, 23) ? { definition: utm(false, GRS80), datum: 'NAD83' } : null;
    case 283:
      return within(48, 58) ? { definition: utm(true, GRS80), datum: 'GDA94' } : null;
    case 78:
      return within(46, 59) ? { definition: `+proj=utm +zone=${zone} +south ${GRS80}`, datum: 'GDA2020' } : null;
  }
  if (epsg === 3035)
    return { definition: `+proj=laea +lat_0=52 +lon_0=10 +x_0=4321000 +y_0=3210000 ${GRS80}`, datum: 'ETRS89' };
  if (epsg === 3034) {
    const lambert = '+proj=lcc +lat_0=52 +lon_0=10 +lat_1=35 +lat_2=65 +x_0=4000000 +y_0=2800000';
    return { definition: `${lambert} ${GRS80}`, datum: 'ETRS89' };
  }
  return null;
}

/** As systemByCode, for a text such as "EPSG:25832". */
export function systemByName(name: string | null): KnownSystem | null {
  const code = /^EPSG:(\d+)$/i.exec(name?.trim() ?? '')?.[1];
  return code === undefined ? null : systemByCode(Number(code));
}
