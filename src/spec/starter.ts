/** Answers for a starter spec. Lengths in metres, areas in square metres, densities in points per square metre. */
export interface StarterAnswers {
  title: string;
  /** How the cloud was captured; sets the sizes of cells and voxels. */
  capture: 'vehicle' | 'airborne';
  /** EPSG code of the horizontal system; empty where any is accepted. */
  horizontal: string;
  vertical: string;
  /** Vertical accuracy class: the largest RMSE of heights. */
  verticalClass: number;
  density: number;
  /** Largest void accepted; 0 to derive it from the density. */
  gap: number;
  /** Zone in which density and voids are checked; empty for the whole delivery. */
  zone: string;
}

/** A question for a starter spec, with its command-line option and its default answer. */
export interface StarterQuestion {
  key: keyof StarterAnswers;
  flag: string;
  question: string;
  fallback: string;
}

/** All questions, in the order in which they are asked. */
export const STARTER_QUESTIONS: readonly StarterQuestion[] = [
  { key: 'title', flag: '--title', question: 'Title, printed on the report', fallback: 'As-built capture' },
  { key: 'capture', flag: '--capture', question: 'Captured by vehicle or airborne', fallback: 'vehicle' },
  { key: 'horizontal', flag: '--horizontal', question: 'Horizontal system, EPSG code (empty: any)', fallback: '' },
  { key: 'vertical', flag: '--vertical', question: 'Height system, EPSG code (empty: any)', fallback: '' },
  { key: 'verticalClass', flag: '--class', question: 'Vertical accuracy class (RMSEz), metres', fallback: '0.02' },
  { key: 'density', flag: '--density', question: 'Minimum density, points per square metre', fallback: '400' },
  { key: 'gap', flag: '--gap', question: 'Largest void, m² (0: derive from the density)', fallback: '1' },
  { key: 'zone', flag: '--zone', question: 'Zone for density and voids (empty: everywhere)', fallback: '' },
];

/**
 * Parses typed answers: a decimal comma and an EPSG number without prefix are accepted.
 * @throws RangeError with a sentence for an invalid answer
 */
export function understandAnswers(typed: Record<keyof StarterAnswers, string>): StarterAnswers {
  if (typed.capture !== 'vehicle' && typed.capture !== 'airborne')
    throw new RangeError(`captured by "${typed.capture}": answer vehicle or airborne`);
  return {
    title: typed.title.trim() || 'As-built capture',
    capture: typed.capture,
    horizontal: codeOf(typed.horizontal),
    vertical: codeOf(typed.vertical),
    verticalClass: positive(typed.verticalClass, 'the vertical class'),
    density: positive(typed.density, 'the density'),
    gap: typed.gap.trim() === '0' ? 0 : positive(typed.gap, 'the largest void'),
    zone: typed.zone.trim(),
  };
}

/**
 * A starter spec as JSON text; a note at every requirement names the source of its limit. Limits follow from the vertical
 * class by the ASPRS Positional Accuracy Standards, Edition 2 (2023): pass differences within 0.8 (RMS) and 1.6 (largest) of
 * the class, 30 check points, a mean within a quarter of the class.
 */
export function starterSpec(answers: StarterAnswers): string {
  const { title, horizontal, vertical } = answers;
  const crs = { ...(horizontal ? { horizontal } : {}), ...(vertical ? { vertical } : {}) };
  const spec = {
    $schema: './acceptance-spec.schema.json',
    spec: '1',
    title,
    ...(Object.keys(crs).length > 0 ? { crs } : {}),
    passes: { by: 'point-source-id' },
    requirements: requirementsFor(answers),
  };
  return `${JSON.stringify(spec, null, 2)}\n`;
}

function requirementsFor({ capture, verticalClass, density, gap, zone, vertical }: StarterAnswers): object[] {
  const where = zone ? { zone } : {};
  // Nominal spacing of points spread evenly: one over the root of the density.
  const spacing = 1 / Math.sqrt(density);
  const fine = capture === 'vehicle';
  const area = gap > 0 ? gap : neat((4 * spacing) ** 2);
  return [
    {
      id: 'HDR-1',
      check: 'header-agreement',
      note: 'File headers must match the points; other software relies on them.',
    },
    {
      id: 'CRS-1',
      check: 'crs',
      requireVertical: vertical !== '',
      note: 'Every file must state its coordinate system; the required codes are under "crs".',
    },
    {
      id: 'ACC-V',
      check: 'vertical-accuracy',
      maxRmse: verticalClass,
      maxMean: neat(verticalClass / 4),
      minPoints: 30,
      method: fine ? 'plane' : 'tin',
      radius: fine ? 0.3 : neat(Math.max(1, 5 * spacing)),
      note: 'RMSE at independent check points on hard ground; a mean above a quarter of the class points to a systematic error. With "decision": "guarded" the upper end of the confidence interval must meet the limit too.',
    },
    {
      id: 'REL-1',
      check: 'pass-agreement',
      maxRmsDz: neat(0.8 * verticalClass),
      maxDz: neat(1.6 * verticalClass),
      voxel: fine ? 0.5 : 2,
      ...(fine ? {} : { minPoints: 8 }),
      note: '0.8 and 1.6 times the vertical class. Add "maxShift" where a shift in plan matters, and agree it with the client.',
    },
    {
      id: 'DEN-1',
      check: 'density',
      cell: fine ? 1 : neat(Math.max(2, 10 * spacing)),
      min: density,
      share: 0.98,
      ...(fine ? {} : { count: 'last' }),
      ...where,
      note: 'Two cells in a hundred may have a lower density: parked vehicles, wet asphalt. "count" selects the returns that are counted.',
    },
    {
      id: 'GAP-1',
      check: 'voids',
      maxArea: area,
      cell: neat(Math.min(fine ? 0.25 : 1, Math.max(0.02, 2 * spacing))),
      ...(fine ? {} : { count: 'first' }),
      ...where,
      note:
        gap > 0
          ? 'Largest void as agreed.'
          : 'Four times the nominal spacing, squared, as airborne specifications usually require.',
    },
  ];
}

/** Two significant digits: limits are agreed, not computed to the micrometre. */
function neat(value: number): number {
  return Number(value.toPrecision(2));
}

function codeOf(text: string): string {
  const bare = text.trim();
  if (bare === '') return '';
  const code = /^(?:EPSG:)?(\d{4,6})$/i.exec(bare);
  if (!code) throw new RangeError(`"${bare}" is not an EPSG code such as EPSG:25832`);
  return `EPSG:${code[1]}`;
}

function positive(text: string, what: string): number {
  const value = Number(text.trim().replace(',', '.'));
  if (Number.isFinite(value) && value > 0) return value;
  throw new RangeError(`${what} must be a number above zero, not "${text}"`);
}
