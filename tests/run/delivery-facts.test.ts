import { describe, expect, test } from 'vitest';
import { capturedDates, writtenDates } from '../../src/assemble/dates.js';
import { commandOf } from '../../src/assemble/inputs.js';
import { overviewCell } from '../../src/assemble/overview.js';
import type { DeliveredFile } from '../../src/delivery/delivery.js';

type HeaderPart = Partial<NonNullable<DeliveredFile['header']>>;

function file(index: number, header: HeaderPart | null, horizontalUnit = 1): DeliveredFile {
  const whole = {
    globalEncoding: 1,
    creationDay: 0,
    creationYear: 0,
    gpsTimeMin: null,
    gpsTimeMax: null,
    timeOffset: null,
    min: [0, 0, 0],
    max: [0, 0, 0],
    pointCount: 0,
    ...header,
  };
  return { index, header: header === null ? null : whole, horizontalUnit } as DeliveredFile;
}

function recount(index: number, from: number, to: number) {
  return { file: index, points: 2, raw: [], byReturn: [], gps: [from, to] as [number, number] };
}

describe('when the delivery was captured', () => {
  test('adjusted standard GPS time counts from 14 September 2011, 01:46:40 (GPS time 1e9 s after 6 January 1980, by calendar)', () => {
    expect(capturedDates([file(0, {})], [recount(0, 1, 86_401)])).toEqual({
      from: '2011-09-14T01:46:41',
      to: '2011-09-15T01:46:41',
    });
  });

  test('seconds of the week tell no date (LAS 1.4, global encoding bit 0 clear)', () => {
    expect(capturedDates([file(0, { globalEncoding: 0 })], [recount(0, 300_000, 300_900)])).toBeNull();
  });

  test('a header of LAS 1.5 is believed where the points were not recounted, with its own offset', () => {
    const stated = file(0, { globalEncoding: 1 | 64, timeOffset: 1400, gpsTimeMin: 0, gpsTimeMax: 10 });
    // 1.4e9 s after the epoch, by Python's datetime: 2024-05-17T16:53:20
    expect(capturedDates([stated], null)?.from).toBe('2024-05-17T16:53:20');
  });

  test('zeros and nonsense are no dates', () => {
    expect(capturedDates([file(0, {})], [recount(0, -2e9, -1e9)])).toBeNull();
    expect(capturedDates([file(0, null)], null)).toBeNull();
  });

  test('files are written on the day of the year their header names', () => {
    const files = [
      file(0, { creationYear: 2024, creationDay: 60 }),
      file(1, { creationYear: 2024, creationDay: 366 }),
      file(2, { creationYear: 0, creationDay: 0 }),
    ];
    expect(writtenDates(files)).toEqual({ from: '2024-02-29', to: '2024-12-31' });
    expect(writtenDates([file(0, {})])).toBeNull();
  });
});

describe('the command that repeats a check', () => {
  test('names files without folders, and quotes as a POSIX shell requests', () => {
    expect(
      commandOf({ delivery: ['/a/b/tiles/'], spec: '../x/it is.json', points: "C:\\p\\o'k.csv", zones: null }),
    ).toBe(String.raw`cloudassay check tiles --spec 'it is.json' --points 'C:\p\o'\''k.csv'`);
  });

  test('keys in an address never get into a report', () => {
    const command = commandOf({ delivery: ['https://me:pw@host.invalid/t.laz?X-Signature=abc#f'], spec: 's.json' });
    expect(command).toBe('cloudassay check https://host.invalid/t.laz --spec s.json');
  });

  test('a shell that expanded a pattern to many files does not make a command of a page', () => {
    const delivery = Array.from({ length: 2000 }, (_, i) => `t${i}.laz`);
    expect(commandOf({ delivery, spec: 's.json' })).toBe('cloudassay check DELIVERY --spec s.json');
  });
});

describe('cells of the overview', () => {
  const box = (side: number, pointCount: number) => file(0, { max: [side, side, 9], pointCount });

  test('one metre up to four million cells, then larger ones', () => {
    expect(overviewCell([box(1900, 1e9)])).toBe(1);
    expect(overviewCell([box(2100, 1e9)])).toBe(2);
    // A header that claims no box at all does not coarsen the others' cells.
    expect(overviewCell([box(1900, 1e9), box(Number.NaN, 100)])).toBe(1);
    expect(overviewCell(Array.from({ length: 300 }, () => box(1000, 1e9)))).toBe(10);
  });

  test('few points make few cells, however large the box is said to be', () => {
    expect(overviewCell([box(1e9, 50_000)])).toBe(1);
  });

  test('feet are feet', () => {
    expect(overviewCell([file(0, { max: [6000, 6000, 9], pointCount: 1e9 }, 0.3048)])).toBe(1);
  });
});
