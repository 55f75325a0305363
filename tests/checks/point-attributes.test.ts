import { describe, expect, it } from 'vitest';
import { attributeRules } from '../../src/checks/attributes/attribute-rules.js';
import { pointAttributes } from '../../src/checks/point-attributes.js';
import { Fault } from '../../src/fault.js';
import type { FileAttributes } from '../../src/measure/attribute-codes.js';
import { Code } from '../../src/measure/attributes/code-counts.js';
import { fact } from '../../src/measure/fact-types.js';
import type { PulseTimes } from '../../src/measure/pulse-times.js';
import type { TimeOrderRow } from '../../src/measure/time-order.js';
import type { SceneColumns } from '../../src/simulate/writer/point-columns.js';
import { assayFiles, assayOne, lasOf, soundStreet, zonesOf } from './check-files.js';
import { deliveryOf, fileOf, judge, requirementOf } from './judge.js';

/** What was found in file 0: points by code, and the rest. */
function found(codes: Record<number, number>, more: Partial<FileAttributes> = {}): FileAttributes {
  const first = { x: 561_003, y: 5_932_004, z: 5 };
  return {
    file: 0,
    points: 1000,
    withheld: 0,
    codes: new Map(Object.entries(codes).map(([code, points]) => [Number(code), { points, first }])),
    intensity: [5, 60_000],
    colourMax: null,
    time: [419_724_800, 419_724_900],
    ...more,
  };
}

/** Judges one rule, or the rules an option switches on, on one file. */
function judgeRule(
  rules: string[],
  facts: FileAttributes[],
  options: Record<string, unknown> = {},
  header: Record<string, unknown> = {},
) {
  const files = facts.map((f) =>
    fileOf(`tile_${f.file}.las`, f.file, {
      header: { globalEncoding: 1 + 16, creationYear: 2025, creationDay: 100, ...header } as never,
    }),
  );
  return judge(pointAttributes, { rules, ...options }, { files: facts }, { files });
}

const count = (verdict: ReturnType<typeof judgeRule>, metric: string) => verdict.measured[metric].value;

describe('rules on point attributes', () => {
  it('classes: allowed, reserved by format, never classified', () => {
    const classes = found({
      [Code.class]: 4,
      [Code.class + 2]: 900,
      [Code.class + 12]: 3,
      [Code.class + 19]: 2,
      [Code.class + 64]: 7,
    });
    expect(count(judgeRule([], [classes], { classes: [0, 2, 64] }), 'classNotAllowed')).toBe(5);
    // LAS 1.4 R16: 12 is reserved in formats 6 to 10, 19 (overhead structure) and 64 (user definable) are not.
    expect(count(judgeRule(['class-reserved'], [classes]), 'classReserved')).toBe(3);
    // In formats 0 to 5 it is the other way round: 12 is overlap, 13 to 31 are reserved.
    expect(count(judgeRule(['class-reserved'], [classes], {}, { pointFormat: 1 }), 'classReserved')).toBe(2);
    expect(count(judgeRule(['class-reserved'], [classes], { classes: [0, 2, 12, 19, 64] }), 'classReserved')).toBe(0);
    expect(count(judgeRule(['never-classified'], [classes]), 'neverClassified')).toBe(4);
    expect(count(judgeRule(['overlap'], [classes], {}, { pointFormat: 1 }), 'overlap')).toBe(3);
    expect(judgeRule(['class-reserved'], [classes], { maxViolations: 3 }).state).toBe('pass');
    expect(judgeRule(['class-reserved'], [classes], { maxViolations: 2 }).state).toBe('fail');
  });

  it('the reserved classes are those of the standard', () => {
    // LAS 1.4 R16, section 2.6, tables of classification values for formats 0 to 5 and 6 to 10.
    const reserved = (pointFormat: number) => {
      const facts = [...Array(64).keys()].map((file) => found({ [Code.class + file]: 1 }, { file }));
      const [, table] = judgeRule(['class-reserved'], facts, {}, { pointFormat }).evidence;
      const rows = table.kind === 'table' ? table.rows : [];
      return rows.map(([file]) => Number(/\d+/.exec(String(file))![0])).sort((x, y) => x - y);
    };
    expect(reserved(1).filter((k) => k < 32)).toEqual([
      10, 11, 13, 14, 15, 16, 17, 18, 19, 20, 21, 22, 23, 24, 25, 26, 27, 28, 29, 30, 31,
    ]);
    expect(reserved(6)).toEqual([8, 12, ...Array.from({ length: 41 }, (_, k) => 23 + k)]);
  });

  it('returns: zero, above their number, above what the format knows', () => {
    const returns = found({
      [Code.returns + 0]: 1,
      [Code.returns + 1]: 2,
      [Code.returns + 16]: 4,
      [Code.returns + 3 + 32]: 8,
      [Code.returns + 6 + 96]: 16,
      [Code.returns + 1 + 16]: 900,
    });
    const rules = ['return-zero', 'return-above-count', 'return-above-format'];
    const modern = judgeRule(rules, [returns]);
    expect(count(modern, 'returnZero')).toBe(1 + 2 + 4);
    expect(count(modern, 'returnAboveCount')).toBe(8);
    expect(count(modern, 'returnAboveFormat')).toBe(0);
    expect(count(modern, 'violations')).toBe(15);
    // Five returns at most in formats 0 to 5 (LAS 1.4 R16, section 2.6).
    expect(count(judgeRule(rules, [returns], {}, { pointFormat: 3 }), 'returnAboveFormat')).toBe(16);
  });

  it('GPS time against the type in the header', () => {
    const times = found({
      [Code.timeMissing]: 1,
      [Code.timeOfWeek]: 2,
      [Code.timeLater]: 4,
      [Code.timeNegative]: 8,
      [Code.timeImpossible]: 16,
    });
    expect(count(judgeRule(['time-type-wrong'], [times]), 'timeTypeWrong')).toBe(2 + 16);
    expect(count(judgeRule(['time-type-wrong'], [times], {}, { globalEncoding: 16 }), 'timeTypeWrong')).toBe(
      4 + 8 + 16,
    );
    // Versions 1.0 and 1.1 have no such bit: seconds of the week.
    expect(
      count(judgeRule(['time-type-wrong'], [times], {}, { versionMinor: 1, pointFormat: 1 }), 'timeTypeWrong'),
    ).toBe(28);
    // LAS 1.5: with a time offset (bit 6) small times are in order.
    const shifted = { versionMinor: 5, globalEncoding: 1 + 16 + 64, timeOffset: 1400 };
    expect(count(judgeRule(['time-type-wrong'], [times], {}, shifted), 'timeTypeWrong')).toBe(16);
    expect(count(judgeRule(['time-missing'], [times]), 'timeMissing')).toBe(1);
    expect(count(judgeRule(['time-missing'], [times], {}, { pointFormat: 2 }), 'timeMissing')).toBe(1000);
    const without = judgeRule(['time-type-wrong'], [times], {}, { pointFormat: 0 });
    expect([without.state, count(without, 'timeTypeWrong')]).toEqual(['undetermined', null]);
  });

  it('days of capture', () => {
    // 2025-01-01 00:00 GPS = 1,419,724,800 s since 1980-01-06, stored as 419,724,800 (16,432 days, by calendar arithmetic).
    expect((Date.UTC(2025, 0, 1) - Date.UTC(1980, 0, 6)) / 1000 - 1e9).toBe(419_724_800);
    const day = (from: number, to: number) => found({}, { time: [419_724_800 + from, 419_724_800 + to] });
    const state = (facts: FileAttributes, options: object, header = {}) =>
      judgeRule([], [facts], options as never, header).state;
    expect(state(day(0, 86_399), { capturedFrom: '2025-01-01', capturedTo: '2025-01-01' })).toBe('pass');
    expect(state(day(0, 86_400), { capturedTo: '2025-01-01' })).toBe('fail');
    expect(state(day(-1, 5), { capturedFrom: '2025-01-01' })).toBe('fail');
    expect(state(day(0, 1), { capturedFrom: '2025-01-01' }, { globalEncoding: 16 })).toBe('undetermined');
    // The same moment with the time offset of LAS 1.5: 1419 million seconds.
    const shifted = { versionMinor: 5, globalEncoding: 1 + 16 + 64, timeOffset: 1419 };
    expect(
      state(found({}, { time: [724_800, 724_801] }), { capturedFrom: '2025-01-01', capturedTo: '2025-01-01' }, shifted),
    ).toBe('pass');
    // Day 1 of 2025, and one of grace.
    const made = (dayOfYear: number) =>
      judgeRule(['time-after-creation'], [day(86_400 * 2, 86_400 * 2 + 5)], {}, { creationDay: dayOfYear }).state;
    expect(made(2)).toBe('pass');
    expect(made(1)).toBe('fail');
    expect(made(0)).toBe('undetermined');
  });

  it('scan angles against the format and against a limit', () => {
    const angles = found({
      [Code.angle + 30]: 1,
      [Code.angle + 31]: 2,
      [Code.angle + 91]: 4,
      [Code.angle + 180]: 8,
      [Code.angle + 181]: 16,
    });
    expect(count(judgeRule(['angle-outside-format'], [angles]), 'angleOutsideFormat')).toBe(16);
    expect(count(judgeRule(['angle-outside-format'], [angles], {}, { pointFormat: 1 }), 'angleOutsideFormat')).toBe(28);
    expect(count(judgeRule([], [angles], { maxScanAngle: 30 }), 'angleAboveLimit')).toBe(30);
  });

  it('intensity and colour: missing, flat, not stretched', () => {
    const state = (rule: string, more: Partial<FileAttributes>, options = {}) =>
      judgeRule([rule], [found({ [Code.colourBlack]: 10 }, more)], options).state;
    expect(state('intensity-missing', { intensity: [0, 0] })).toBe('fail');
    expect(state('intensity-flat', { intensity: [0, 0] })).toBe('pass');
    expect(state('intensity-flat', { intensity: [9, 9] })).toBe('fail');
    expect(state('intensity-flat', { intensity: [9, 9], points: 1 })).toBe('pass');
    expect(state('intensity-unscaled', { intensity: [0, 4095] })).toBe('fail');
    expect(state('intensity-unscaled', { intensity: [0, 4096] })).toBe('pass');
    expect(state('intensity-unscaled', { intensity: [0, 0] })).toBe('pass');
    expect(state('intensity-unscaled', { intensity: [0, 300] }, { unscaledIntensity: 255 })).toBe('pass');
    expect(state('colour-unscaled', { colourMax: 255 })).toBe('fail');
    expect(state('colour-unscaled', { colourMax: 256 })).toBe('pass');
    expect(state('colour-unscaled', { colourMax: 0 })).toBe('pass');
    expect(state('colour-unscaled', { colourMax: null })).toBe('undetermined');
    expect(
      count(judgeRule(['colour-missing'], [found({ [Code.colourBlack]: 10 }, { colourMax: 900 })]), 'colourMissing'),
    ).toBe(10);
    expect(count(judgeRule(['colour-missing'], [found({})]), 'colourMissing')).toBe(1000);
  });

  it('flags, source ID and area', () => {
    const flags = found({
      [Code.flags + 4]: 1,
      [Code.flags + 12]: 2,
      [Code.flags + 9]: 4,
      [Code.sourceZero]: 8,
      [Code.placeOutside]: 16,
    });
    const verdict = judgeRule(['withheld', 'overlap', 'synthetic', 'source-id-zero'], [flags], { area: 'road' });
    expect(verdict.measured).toMatchObject({
      withheld: { value: 3 },
      overlap: { value: 6 },
      synthetic: { value: 4 },
      sourceIdZero: { value: 8 },
      outsideArea: { value: 16 },
      violations: { value: 37 },
    });
  });

  it('names the worst first, with the file and a place', () => {
    const facts = [found({ [Code.sourceZero]: 3 }), found({ [Code.sourceZero]: 800 }, { file: 1 })];
    const verdict = judgeRule(['source-id-zero'], facts);
    expect(verdict.summary).toBe(
      '803 violations in the delivery (accepted: 0): 803 points with point source ID 0 (tile_0.las and 1 more file).',
    );
    const [places, table] = verdict.evidence;
    expect(places.kind === 'locations' && places.items[0]).toEqual({
      x: 561_003,
      y: 5_932_004,
      z: 5,
      file: 'tile_1.las',
      value: 800,
      unit: 'count',
      note: 'source-id-zero: point source ID 0',
    });
    expect(table.kind === 'table' && table.rows).toEqual([
      ['tile_1.las', 'source-id-zero', 800, 'point source ID 0'],
      ['tile_0.las', 'source-id-zero', 3, 'point source ID 0'],
    ]);
  });

  it('is undetermined without a point', () => {
    expect(
      judge(pointAttributes, {}, { files: [], pulses: { pulses: 0, unequal: 0, apart: 0, split: 0, example: null } })
        .state,
    ).toBe('undetermined');
  });
});

describe('returns of a pulse, and the order of times', () => {
  const sound = { rules: ['pulse-time-unequal'] };
  const facts = [found({})];
  const files = [fileOf('a.las', 0)];
  const pulse = (times: PulseTimes) => judge(pointAttributes, sound, { files: facts, pulses: times }, { files });
  const example = { x: 1, y: 2, time: 5, spread: 1e-7 };

  it('many pulses whose returns are far apart in time, or incomplete, leave it undetermined with the reason', () => {
    const apart = pulse({ pulses: 1200, unequal: 0, apart: 300, split: 0, example: null });
    expect(apart.state).toBe('undetermined');
    expect(apart.summary).toContain(
      'Of 1,500 pulses of several returns in a sample, 300 have returns more than 10 microseconds apart:',
    );
    expect(pulse({ pulses: 0, unequal: 0, apart: 300, split: 0, example: null }).state).toBe('undetermined');
    expect(pulse({ pulses: 1200, unequal: 0, apart: 0, split: 300, example: null }).state).toBe('undetermined');
    // As a filter leaves them, or the edge of a small area.
    expect(pulse({ pulses: 1200, unequal: 0, apart: 12, split: 110, example: null }).state).toBe('pass');
    expect(pulse({ pulses: 30, unequal: 0, apart: 5, split: 15, example: null }).state).toBe('pass');
  });

  it('a few unequal pulses are what deleting points leaves, more are not', () => {
    expect(pulse({ pulses: 1000, unequal: 0, apart: 0, split: 0, example: null }).state).toBe('pass');
    expect(pulse({ pulses: 1000, unequal: 10, apart: 0, split: 0, example }).state).toBe('pass');
    const bad = pulse({ pulses: 1000, unequal: 11, apart: 0, split: 0, example });
    expect([bad.state, bad.measured.pulseTimeUnequal.value]).toEqual(['fail', 11]);
    expect(pulse({ pulses: 0, unequal: 0, apart: 0, split: 0, example: null }).state).toBe('undetermined');
  });

  it('steps back in time are counted over all files', () => {
    const row: TimeOrderRow = { file: 0, pass: 1, channel: 0, steps: 3, largest: { seconds: 2, x: 1, y: 2 } };
    const bad = judge(
      pointAttributes,
      { rules: ['time-backwards'] },
      { files: facts, order: [row, { ...row, channel: 1, steps: 0, largest: null }] },
      { files },
    );
    expect([bad.state, bad.measured.timeBackwards.value]).toEqual(['fail', 3]);
    expect(judge(pointAttributes, { rules: ['time-backwards'] }, { files: facts, order: [] }, { files }).state).toBe(
      'undetermined',
    );
  });
});

describe('point-attributes as a whole', () => {
  it('asks for what its rules need and nothing else', () => {
    const context = {
      delivery: deliveryOf({ files: [fileOf('a.las', 0), fileOf('b.las', 1, { header: { pointFormat: 3 } })] }),
    };
    const needs = (options: object) =>
      pointAttributes.needs(requirementOf({ check: 'point-attributes', ...options }) as never, context);
    expect(needs({ rules: ['withheld'] })).toEqual({
      files: fact('attribute-codes', { attributes: [], wholeDegrees: [1], within: null, area: null }),
      pulses: undefined,
      order: undefined,
    });
    expect(needs({ rules: ['time-backwards', 'pulse-time-unequal'], maxScanAngle: 60 })).toMatchObject({
      files: { measurement: 'attribute-codes' },
      pulses: { measurement: 'pulse-times' },
      order: { measurement: 'time-order' },
    });
    expect(() => needs({ area: 'nowhere' })).toThrow(Fault);
  });

  it('has a figure for every rule', () => {
    const metrics = Object.keys(pointAttributes.metrics);
    for (const rule of attributeRules) expect(metrics).toContain(rule.metric);
    // And one for all violations, one for pulses, one for the order of times.
    expect(metrics).toHaveLength(attributeRules.length + 3);
  });

  it('explains itself in one sentence', () => {
    const requirement = requirementOf({
      check: 'point-attributes',
      rules: ['withheld', 'source-id-zero'],
      classes: [1, 2],
      maxScanAngle: 40,
    });
    expect(pointAttributes.explain(requirement as never)).toBe(
      'Points in the delivery may not have a class that is not 1 or 2, a scan angle above 40 degrees, point source ID 0 or the withheld flag. Withheld points are judged by their flags only.',
    );
  });
});

/** The street with faults planted in chosen points; all others stay sound. */
function planted(street: SceneColumns): SceneColumns & { flags: Uint8Array } {
  const { classification, returnNumber, returnCount, pointSourceId, scanAngle, gpsTime, count: n } = street;
  const flags = new Uint8Array(n);
  for (let k = 0; k < 7; k++) classification[100 + 31 * k] = 12;
  for (let k = 0; k < 5; k++) [returnNumber[1000 + 40 * k], returnCount[1000 + 40 * k]] = [0, 1];
  for (let k = 0; k < 3; k++) [returnNumber[2000 + 50 * k], returnCount[2000 + 50 * k]] = [2, 1];
  for (let k = 0; k < 4; k++) pointSourceId[3000 + 10 * k] = 0;
  for (let k = 0; k < 6; k++) scanAngle[4000 + 10 * k] = 30_001;
  for (let k = 0; k < 9; k++) gpsTime[5000 + 10 * k] = 345_600;
  for (let k = 0; k < 2; k++) flags[6000 + k] = 4;
  return { ...street, flags };
}

describe('point-attributes from file to report', () => {
  it('a sound street passes, in every format', async () => {
    const street = soundStreet();
    const colour = street.intensity;
    const points = { ...street, red: colour, green: colour, blue: colour, nir: colour };
    const files = Object.fromEntries([6, 7, 8].map((format) => [`f${format}.las`, lasOf(points, { format })]));
    const report = await assayOne(files, { check: 'point-attributes' });
    expect(report.verdict).toBe('pass');
    expect(report.measured.violations).toBe(0);
    expect(report.measured.pulseTimeUnequal).toBe(0);
    expect(report.measured.colourUnscaled).toBe(0);
  });

  it('finds exactly what was planted, for any cut into spans', async () => {
    const bytes = lasOf(planted(soundStreet()));
    const requirement = {
      check: 'point-attributes',
      rules: [
        'class-reserved',
        'return-zero',
        'return-above-count',
        'source-id-zero',
        'angle-outside-format',
        'time-type-wrong',
        'withheld',
      ],
    };
    const report = await assayFiles({ 'a.las': bytes }, [requirement]);
    expect(report.requirements[0].measured).toMatchObject({
      classReserved: 7,
      returnZero: 5,
      returnAboveCount: 3,
      sourceIdZero: 4,
      angleOutsideFormat: 6,
      timeTypeWrong: 9,
      withheld: 2,
      violations: 36,
    });
    expect(report.requirements[0].verdict).toBe('fail');
    for (const spanPoints of [777, 10_000]) {
      const again = await assayFiles({ 'a.las': bytes }, [requirement], { spanPoints });
      expect(again.requirements).toEqual(report.requirements);
    }
  });

  it('finds returns whose times lag, and times that run backwards', async () => {
    const street = soundStreet();
    const rule = (rules: string[]) => ({ check: 'point-attributes', rules });
    expect((await assayOne({ 'a.las': lasOf(street) }, rule(['time-backwards']))).measured.timeBackwards).toBe(0);
    const lagging = { ...street, gpsTime: street.gpsTime.map((t, i) => t + (street.returnNumber[i] - 1) * 2.4e-7) };
    const late = await assayOne({ 'a.las': lasOf(lagging) }, rule(['pulse-time-unequal']), { spanPoints: 5000 });
    expect(late.verdict).toBe('fail');
    // Pass 1 written a second time behind pass 2 under the same source: one step back a scanner head.
    const one = street.pointSourceId.indexOf(2);
    const reversed = {
      ...street,
      gpsTime: street.gpsTime.map((t, i) => (i < one ? t + 1200 : t)),
      pointSourceId: street.pointSourceId.map(() => 5),
    };
    const back = await assayOne({ 'a.las': lasOf(reversed) }, rule(['time-backwards']), { spanPoints: 3333 });
    expect(back.measured.timeBackwards).toBe(2);
  });

  it('judges inside a zone, and outside an area', async () => {
    const street = soundStreet();
    const west = Array.from(street.x.subarray(0, street.count)).filter((x) => x < 561_010).length;
    const zones = zonesOf(['west', 560_000, 5_932_000, 561_010, 5_933_000]);
    const none = { ...street, classification: street.classification.map((c, i) => (street.x[i] < 561_010 ? c : 0)) };
    const files = { 'a.las': lasOf(none) };
    const inside = await assayOne(
      files,
      { check: 'point-attributes', rules: ['never-classified'], zone: 'west' },
      { zones },
    );
    expect([inside.verdict, inside.measured.neverClassified]).toEqual(['pass', 0]);
    const outside = await assayOne(files, { check: 'point-attributes', rules: [], area: 'west' }, { zones });
    expect(outside.measured.outsideArea).toBe(street.count - west);
  });
});
