/** What a starter spec is made from. Lengths in metres, areas in square metres, densities in points a square metre. */
export interface StarterAnswers {
  title: string;
  /** How the cloud was captured: decides cell and cube sizes. */
  capture: 'vehicle' | 'airborne';
  /** EPSG codes; empty where nothing is demanded. */
  horizontal: string;
  vertical: string;
  /** Vertical accuracy class: the RMSE of height that is asked. */
  verticalClass: number;
  density: number;
  /** Largest gap that is accepted; 0 for the area that follows from the density. */
  gap: number;
  /** Zone that density and gaps are asked for; empty for the whole delivery. */
  zone: string;
}

/** A question of the starter, with its flag and the answer taken when there is none. */
export interface StarterQuestion {
  key: keyof StarterAnswers;
  flag: string;
  question: string;
  fallback: string;
}

export const STARTER_QUESTIONS: readonly StarterQuestion[] = [
  { key: 'title', flag: '--title', question: 'Title, printed on the report', fallback: 'As-built capture' },
  { key: 'capture', flag: '--capture', question: 'Captured by vehicle or airborne', fallback: 'vehicle' },
  { key: 'horizontal', flag: '--horizontal', question: 'Horizontal system, EPSG code (empty: any)', fallback: '' },
  { key: 'vertical', flag: '--vertical', question: 'Height system, EPSG code (empty: any)', fallback: '' },
  { key: 'verticalClass', flag: '--class', question: 'Vertical class: RMSE of height, metres', fallback: '0.02' },
  { key: 'density', flag: '--density', question: 'Least density, points per square metre', fallback: '400' },
  { key: 'gap', flag: '--gap', question: 'Largest gap, square metres (0: from the density)', fallback: '1' },
  { key: 'zone', flag: '--zone', question: 'Zone for density and gaps (empty: everywhere)', fallback: '' },
];

/**
 * Answers as typed, understood: decimal commas are taken, a bare EPSG number too.
 * @throws RangeError with a sentence for an answer that cannot be used
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
    gap: typed.gap.trim() === '0' ? 0 : positive(typed.gap, 'the largest gap'),
    zone: typed.zone.trim(),
  };
}

/**
 * An acceptance spec to start from, as JSON text with a note at every requirement that says where its limit comes from.
 * Limits follow the vertical class as the ASPRS Positional Accuracy Standards, Edition 2 (2023), has them: passes within 0.8
 * (RMS) and 1.6 (largest) of the class, 30 check points, a mean within a quarter of the class.
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
    { id: 'HDR-1', check: 'header-agreement', note: 'Headers must tell the truth: other programs trust them.' },
    {
      id: 'CRS-1',
      check: 'crs',
      requireVertical: vertical !== '',
      note: 'Every file must state the coordinate system; codes demanded stand under "crs".',
    },
    {
      id: 'ACC-V',
      check: 'vertical-accuracy',
      maxRmse: verticalClass,
      maxMean: neat(verticalClass / 4),
      minPoints: 30,
      method: fine ? 'plane' : 'tin',
      radius: fine ? 0.3 : neat(Math.max(1, 5 * spacing)),
      note: 'RMSE at independent check points on hard ground; a mean above a quarter of the class has a common cause. With "decision": "guarded" the uncertainty of the figure counts against it.',
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
      note: 'Two cells in a hundred may be thinner: parked vehicles, wet asphalt. "count" chooses the returns that count.',
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
          ? 'Largest gap as agreed.'
          : 'Four times the nominal spacing, squared, as airborne specifications usually ask.',
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
  if (!code) throw new RangeError(`"${bare}" is no EPSG code such as EPSG:25832`);
  return `EPSG:${code[1]}`;
}

function positive(text: string, what: string): number {
  const value = Number(text.trim().replace(',', '.'));
  if (Number.isFinite(value) && value > 0) return value;
  throw new RangeError(`${what} must be a number above zero, not "${text}"`);
}
