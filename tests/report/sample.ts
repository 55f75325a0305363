import { checkById } from '../../src/checks/index.js';
import { encodeGrid } from '../../src/report/grid-code.js';
import type { GridResult, Report, RequirementResult, SectionResult, SurveyPointLine } from '../../src/report/model.js';
import { encodeSectionPoints } from '../../src/report/section-code.js';

/** Strings a stranger could put into a file name or a coordinate system, meant to break out of the page or the table. */
export const HOSTILE = {
  file: 'tile_<script>alert(1)</script>_"&\'.laz',
  wkt: 'PROJCS["</style><img src=x onerror=alert(2)>"]',
  formula: '=HYPERLINK("http://example.invalid","open")',
  escape: 'tile_\u001b[31mred\u0007.las',
  pipe: 'a|b`c`[x](javascript:alert(3))',
};

/** Park-Miller generator: the same sample on every run. */
function seeded(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state * 48271) % 2147483647;
    return state / 2147483647;
  };
}

function senseOf(name: string): 'at-most' | 'at-least' {
  return name === 'min' || name === 'n' ? 'at-least' : 'at-most';
}

/** The labels that a check declares of its figures; none for a check that is planned only. */
function labelsOf(check: string): Record<string, string> {
  const metrics = Object.entries(checkById(check)?.metrics ?? {});
  return Object.fromEntries(metrics.map(([name, { label }]) => [name, label]));
}

/** A grid of a patch of 1 m cells, its values made up from their place. */
function patch(
  head: Pick<GridResult, 'title' | 'unit' | 'signed' | 'limit' | 'sense'>,
  [x, y, columns, rows]: readonly [number, number, number, number],
  valueAt: (column: number, row: number) => number,
): GridResult {
  const place = Array.from({ length: columns * rows }, (_, i) => [x + (i % columns), y + Math.floor(i / columns)]);
  return encodeGrid(
    { ...head, cell: 1 },
    {
      column: Int32Array.from(place, ([column]) => column),
      row: Int32Array.from(place, ([, row]) => row),
      value: Float64Array.from(place, ([column, row]) => valueAt(column, row)),
    },
  );
}

/** Points of two passes around a place: the second lies higher by `step`. */
function section(
  given: Pick<SectionResult, 'title' | 'surveyPoint' | 'x' | 'y' | 'z'>,
  step: number,
  random: () => number,
): SectionResult {
  const count = 60;
  const along = (scale: number) => Float64Array.from({ length: count }, () => (random() - 0.5) * scale);
  const [dx, dy] = [along(0.8), along(0.8)];
  const pass = Uint8Array.from({ length: count }, (_, i) => i % 2);
  const dz = Float64Array.from(pass, (p, i) => 0.011 + 0.02 * dx[i] + p * step + (random() - 0.5) * 0.01);
  return {
    ...given,
    reach: 0.5,
    plane: { height: 0.011 + step / 2, slopeX: 0.02, slopeY: 0 },
    passes: ['source 11', 'source 12'],
    found: 812,
    points: count,
    data: encodeSectionPoints({ dx, dy, dz, pass }),
  };
}

function requirement(
  given: Partial<RequirementResult> & Pick<RequirementResult, 'id' | 'check' | 'title' | 'verdict'>,
): RequirementResult {
  return {
    why: 'Invented for the sample.',
    level: 'mandatory',
    decision: 'simple',
    zone: null,
    summary: '',
    measured: {},
    limits: {},
    senses: Object.fromEntries(Object.keys(given.limits ?? {}).map((name) => [name, senseOf(name)])),
    labels: labelsOf(given.check),
    units: {},
    quality: null,
    advice: [],
    causes: [],
    locations: [],
    tables: [],
    histograms: [],
    residuals: [],
    series: [],
    grids: [],
    sections: [],
    ...given,
  };
}

/** An invented rejected delivery of a quay road: every field of the model filled at least once. */
export function quayRoad(): Report {
  const random = seeded(20261125);
  const files = Array.from({ length: 14 }, (_, i) => {
    const column = i % 7;
    const row = Math.floor(i / 7);
    const [x, y] = [565100 + column * 50, 5934000 + row * 50];
    return {
      file: i === 5 ? HOSTILE.file : `quay_${x}_${y}.laz`,
      bytes: 41_000_000 + Math.round(random() * 9_000_000),
      packing: i === 9 ? null : 'LAZ',
      version: i === 9 ? null : '1.4',
      pointFormat: i === 9 ? null : 7,
      points: i === 9 ? 0 : 8_200_000 + Math.round(random() * 900_000),
      extent: i === 9 ? null : [x, y, 1.2, x + 50, y + 50, 14.8],
      fault: i === 9 ? 'the file ends inside a chunk (found 31457280, expected 44102113)' : null,
    };
  });
  const surveyPoints: SurveyPointLine[] = Array.from({ length: 36 }, (_, i) => {
    const dz = 0.011 + (random() + random() + random() - 1.5) * 0.014 + (i === 17 ? 0.164 : 0);
    const empty = i === 30;
    return {
      id: i === 3 ? '<b>CP04</b>' : `${i < 4 ? 'GCP' : 'CP'}${String(i + 1).padStart(2, '0')}`,
      role: i < 4 && i !== 3 ? 'control' : 'check',
      x: 565108.1234 + i * 9.4,
      y: 5934012.5 + ((i * 37) % 70) + random(),
      z: 3.214 + random() * 0.4,
      dz: empty ? null : dz,
      dx: empty ? null : (random() - 0.5) * 0.02,
      dy: empty ? null : (random() - 0.5) * 0.02,
      n: empty ? 0 : 60 + Math.round(random() * 80),
      method: 'plane',
      perPass: empty
        ? []
        : [
            { pass: 'source 11', dz: dz - 0.008, n: 31 },
            { pass: 'source 12', dz: dz + 0.007, n: 42 },
          ],
      status: i === 17 ? 'blunder' : empty ? 'no-data' : 'used',
    };
  });
  return {
    report: '1',
    verdict: 'rejected',
    tool: {
      name: 'cloudassay',
      version: '0.1.0',
      command: `cloudassay check tiles --spec quay-road.json --points '${HOSTILE.pipe}' --zones zones.geojson`,
    },
    spec: {
      title: 'Quay road as-built capture',
      sha256: '5a1f0c7e9d3b48261e7f4a90c2d6b8e3f1a2c4d5e6f708192a3b4c5d6e7f8091',
      file: 'quay-road.json',
    },
    inputs: [
      { role: 'survey points', file: HOSTILE.pipe, sha256: '0c1d'.repeat(16) },
      { role: 'zones', file: 'zones.geojson', sha256: 'a7e9'.repeat(16) },
    ],
    delivery: {
      files: files.length,
      points: files.reduce((sum, file) => sum + file.points, 0),
      bytes: files.reduce((sum, file) => sum + file.bytes, 0),
      extent: [565100.02, 5934000.01, 1.2, 565449.98, 5934099.97, 14.8],
      area: 33_112,
      captured: { from: '2026-03-04T08:12:31', to: '2026-03-04T11:47:02' },
      written: { from: '2026-03-06', to: '2026-03-09' },
      crs: { horizontal: 'EPSG:25832', vertical: HOSTILE.wkt, unit: 'metre', metresPerUnit: 1, wkt: HOSTILE.wkt },
      passesBy: 'point source ID',
      unreadable: 1,
      classes: [
        { class: 2, points: 80_112_400 },
        { class: 6, points: 31_349_425 },
      ],
      returns: [
        { number: 1, points: 100_000_000 },
        { number: 2, points: 11_461_825 },
      ],
      pulses: [
        { returns: 1, points: 90_000_000 },
        { returns: 2, points: 21_461_825 },
      ],
    },
    requirements: [
      requirement({
        id: 'ACC-V',
        check: 'vertical-accuracy',
        title: 'Heights agree with the check points',
        why: 'Design heights and drainage are taken from the cloud; an error here is built in concrete.',
        verdict: 'pass',
        decision: 'guarded',
        summary: 'RMSE 14.2 mm at 31 check points, 20.0 mm allowed.',
        measured: {
          n: 32,
          used: 31,
          mean: 0.0108,
          std: 0.0094,
          rmse: 0.0142,
          rmseLow: 0.0114,
          rmseHigh: 0.0189,
          blunders: 1,
        },
        limits: { rmse: 0.02, n: 30 },
        units: {
          n: 'count',
          used: 'count',
          mean: 'm',
          std: 'm',
          rmse: 'm',
          rmseLow: 'm',
          rmseHigh: 'm',
          blunders: 'count',
        },
        advice: [
          'All residuals lean the same way by 10.8 mm. Look for an antenna height or a geoid model that differs.',
        ],
        histograms: [
          {
            title: 'Residuals at check points',
            unit: 'm',
            edges: [-0.02, -0.01, 0, 0.01, 0.02, 0.03, 0.04],
            counts: [1, 4, 9, 11, 5, 1],
            normal: { mean: 0.0108, std: 0.0094, nmad: 0.0101 },
            limit: 0.02,
            sense: 'at-most',
          },
        ],
        residuals: [
          {
            title: 'Height residuals',
            unit: 'm',
            items: surveyPoints.flatMap((p) =>
              p.dz === null
                ? []
                : [
                    {
                      label: p.id,
                      value: p.dz,
                      group:
                        p.status === 'blunder'
                          ? ('blunder' as const)
                          : p.role === 'control'
                            ? ('control' as const)
                            : ('used' as const),
                    },
                  ],
            ),
            mean: 0.0108,
            rms: 0.0142,
            interval: [0.0114, 0.0189],
            limit: 0.02,
          },
        ],
        sections: surveyPoints
          .slice(0, 6)
          .map((p) => section({ title: p.id, surveyPoint: p.id, x: p.x, y: p.y, z: p.z }, 0.015, random)),
      }),
      requirement({
        id: 'REL-1',
        check: 'pass-agreement',
        title: 'Passes disagree by more than the limit',
        why: 'Two drives that do not fit give double kerbs and walls, and edges drawn from them are wrong.',
        verdict: 'fail',
        summary: 'Passes 11 and 12 differ by 18.3 mm RMS in height, 16.0 mm allowed, and are shifted by 24.1 mm.',
        measured: {
          pairs: 3,
          cells: 18422,
          rmsDz: 0.0183,
          meanDz: 0.0151,
          maxDz: 0.0412,
          shift: 0.0241,
          worstPair: null,
        },
        limits: { rmsDz: 0.016, maxDz: 0.032, shift: 0.015 },
        units: { pairs: 'count', cells: 'count', rmsDz: 'm', meanDz: 'm', maxDz: 'm', shift: 'm', worstPair: 'm' },
        grids: [
          patch(
            { title: 'Height of source 12 over source 11', unit: 'm', signed: true, limit: 0.032, sense: 'at-most' },
            [565220, 5934020, 80, 40],
            (x, y) => 0.015 + 0.02 * Math.sin(x / 9) * Math.cos(y / 7),
          ),
        ],
        series: [
          {
            title: 'dz along GPS time',
            unit: 'm',
            along: { title: 'GPS time', unit: 's' },
            lines: [
              {
                name: 'source 12',
                x: [0, 10, 20, 30, 40],
                y: [0.012, 0.014, null, 0.017, 0.018],
              },
              { name: HOSTILE.pipe, x: [5], y: [0.001] },
            ],
            limit: 0.016,
          },
        ],
        sections: [
          section({ title: 'height step', surveyPoint: null, x: 565262.25, y: 5934031.75, z: 3.3 }, 0.041, random),
        ],
        quality: 'DQ_RelativeInternalPositionalAccuracy',
        advice: [
          'Pass source 12 lies 15.1 mm above the others. Adjust its trajectory to the control points, then rebuild the tiles.',
        ],
        causes: [
          {
            rule: 'pass-shift',
            title: 'trajectories not adjusted relative to each other',
            text: `source 12 lies +15.1 mm in z from ${HOSTILE.pipe}: adjust both to common control.`,
            figures: [{ name: 'z', value: 0.0151, unit: 'm' }],
          },
        ],
        locations: Array.from({ length: 60 }, (_, i) => ({
          x: 565262.25 + i * 2.5,
          y: 5934031.75 + (i % 9),
          z: 3.3,
          file: i === 0 ? HOSTILE.file : 'quay_565250_5934000.laz',
          pass: 'source 12',
          value: 0.0412 - i * 0.0003,
          unit: 'm',
          note: 'height step between passes 11 and 12',
        })),
        tables: [
          {
            title: 'Agreement by surface',
            columns: [
              { key: 'surface', title: 'Surface' },
              { key: 'cells', title: 'Places', unit: 'count' },
              { key: 'rms', title: 'RMS distance', unit: 'm' },
            ],
            rows: [
              ['level', 12840, 0.0183],
              ['steep', 5582, 0.0217],
              [HOSTILE.pipe, 0, null],
            ],
          },
        ],
      }),
      requirement({
        id: 'DEN-1',
        check: 'density',
        title: 'Density is below the minimum',
        why: 'Kerb edges cannot be drawn where points are sparse.',
        verdict: 'fail',
        zone: 'carriageway',
        summary: '97.996 % of the cells of the carriageway hold 400 points/m² or more, 98 % required.',
        measured: { cells: 8233, mean: 1184.2, median: 1012.5, p05: 398.1, share: 0.97996 },
        limits: { min: 400, share: 0.98 },
        units: {
          cells: 'count',
          mean: 'points/m2',
          median: 'points/m2',
          p05: 'points/m2',
          share: 'share',
          min: 'points/m2',
        },
        advice: ['Drive the inner lane once more between the two cranes; the scanner was shadowed there.'],
        locations: [
          {
            x: 565391.5,
            y: 5934077.5,
            file: 'quay_565350_5934050.laz',
            value: 112,
            unit: 'points/m2',
            note: 'sparsest cell',
          },
        ],
      }),
      requirement({
        id: 'VOID-1',
        check: 'voids',
        title: 'Gaps in the coverage could not be judged',
        why: 'A gap hides what stands in it.',
        verdict: 'undetermined',
        summary: 'One tile could not be read to the end, so a gap there cannot be ruled out.',
        measured: { count: null, largestArea: null, totalArea: null },
        limits: { largestArea: 0.5 },
        units: { count: 'count', largestArea: 'm2', totalArea: 'm2' },
        advice: ['Copy the tile again from the source and compare its checksum.'],
      }),
      requirement({
        id: 'PREC-1',
        check: 'surface-precision',
        title: 'Surfaces are rougher than recommended',
        why: 'Noise within one pass limits what can be drawn from it.',
        level: 'advisory',
        verdict: 'fail',
        summary: 'Noise of 6.4 mm on horizontal surfaces, 5.0 mm recommended.',
        measured: { cells: 9120, rms: 0.0064, p95: 0.0102 },
        limits: { rms: 0.005 },
        units: { cells: 'count', rms: 'm', p95: 'm' },
        advice: ['Ask for the scanner service record.'],
      }),
      requirement({
        id: 'DUP-1',
        check: 'duplicates',
        title: 'No point is stored twice',
        verdict: 'pass',
        summary: '3 points of 111,000,000 are stored twice, 1 in a million allowed.',
        measured: { points: 3, share: 3 / 111e6 },
        limits: { share: 1e-6 },
        units: { points: 'count', share: 'share' },
      }),
      requirement({
        id: 'TRJ-1',
        check: 'trajectory-quality',
        title: 'Trajectory quality',
        verdict: 'not-applicable',
        summary: 'No trajectory was handed over.',
      }),
    ],
    files,
    passes: [
      { pass: 'source 11', points: 52_118_004 },
      { pass: 'source 12', points: 49_902_551 },
      { pass: 'source 13', points: 9_441_270 },
    ],
    passPairs: [
      {
        a: 'source 11',
        b: 'source 12',
        cells: 12840,
        overlapArea: 3210,
        comparedArea: 2490,
        comparedShare: 0.7757,
        meanDz: 0.0151,
        rmsDz: 0.0183,
        maxDz: 0.0412,
        shift: [0.0142, -0.0121, 0.0151],
        shiftStd: [0.0008, 0.0011, 0.0002],
        observable: [true, true, true],
      },
      {
        a: 'source 11',
        b: 'source 13',
        cells: 3311,
        overlapArea: 3190,
        comparedArea: 2460,
        comparedShare: 0.7712,
        meanDz: -0.0021,
        rmsDz: 0.0059,
        maxDz: 0.0177,
        shift: [null, 0.0031, -0.0021],
        shiftStd: [null, 0.0014, 0.0003],
        observable: [false, true, true],
      },
      {
        a: 'source 12',
        b: 'source 13',
        cells: 0,
        overlapArea: 0,
        comparedArea: 0,
        comparedShare: null,
        meanDz: null,
        rmsDz: null,
        maxDz: null,
        shift: [null, null, null],
        shiftStd: [null, null, null],
        observable: [false, false, false],
      },
    ],
    surveyPoints,
    overview: {
      density: patch(
        { title: 'Point density', unit: 'points/m2', signed: false, limit: null, sense: null },
        [565100, 5934000, 350, 100],
        (x, y) => 900 + 40 * ((x * 7 + y * 13) % 17),
      ),
      passes: patch(
        { title: 'Passes', unit: 'count', signed: false, limit: null, sense: null },
        [565100, 5934000, 350, 100],
        (x) => (x < 565300 ? 0 : x < 565400 ? 1 : 2),
      ),
      passSets: [[0, 1], [0, 1, 2], [1]],
    },
    zones: [
      {
        name: 'carriageway',
        polygons: [
          {
            outer: [565110, 5934010, 565440, 5934010, 565440, 5934060, 565110, 5934060, 565110, 5934010],
            holes: [],
          },
        ],
      },
      { name: HOSTILE.pipe, polygons: [] },
    ],
    findings: [
      {
        severity: 'error',
        code: 'laz-truncated',
        file: 'quay_565200_5934050.laz',
        text: 'The file ends inside a chunk.',
      },
      { severity: 'warning', code: 'side-file-skipped', file: HOSTILE.formula, text: 'Not a point cloud; left out.' },
      { severity: 'note', code: 'odd-name', file: HOSTILE.escape, text: HOSTILE.pipe },
    ],
  };
}

/** The same delivery when nothing is wrong with it. */
export function acceptedQuayRoad(): Report {
  const report = quayRoad();
  return {
    ...report,
    verdict: 'accepted',
    delivery: { ...report.delivery, unreadable: 0 },
    requirements: report.requirements.filter((r) => r.verdict === 'pass' || r.verdict === 'not-applicable'),
    files: report.files.map((file) => ({ ...file, fault: null })),
    findings: [],
  };
}
