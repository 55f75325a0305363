import { usualDrives } from '../../src/simulate/scene/drives.js';
import { scanToColumns } from '../../src/simulate/scene/scanner.js';
import { createStreet } from '../../src/simulate/scene/street.js';
import type { LasOptions } from '../../src/simulate/writer/las-header.js';
import { writeLas } from '../../src/simulate/writer/las-writer.js';
import type { SceneColumns } from '../../src/simulate/writer/point-columns.js';
import { createSceneColumns, joinPoints, selectPoints } from '../../src/simulate/writer/point-columns.js';
import { DVR90, UTM32 } from '../../src/simulate/writer/reference-systems.js';

/**
 * What a reader must say. `fault`: the points cannot be had, `word` is the code of the fault; `issue`: they can, and the
 * rule named is broken; `check`: nothing is odd about the file as such, the check named finds it; `sound`: nothing to find.
 */
export interface Expectation {
  how: 'fault' | 'issue' | 'check' | 'sound';
  word: string;
}

/** A file with one known fault, and what must be found in it. */
export interface BrokenFile {
  /** File name; a name ending in a slash is a folder. */
  name: string;
  /** One sentence: what is wrong with it. */
  fault: string;
  expected: Expectation;
  bytes: Uint8Array;
}

const SOUND: LasOptions = {
  version: [1, 4],
  format: 6,
  scale: [0.001, 0.001, 0.001],
  offset: [561_000, 5_932_000, 0],
  crs: { as: 'wkt', horizontal: UTM32, vertical: DVR90 },
};

/** Start of the points in a file of SOUND options, and the length of its records. */
const RECORD_LENGTH = 30;

/** Two small passes over four metres of street. */
export function smallScene(seed: number): SceneColumns {
  const passes = usualDrives({ passes: 2, density: 20 });
  return scanToColumns({ street: createStreet({ seed }), passes, from: 0, to: 4, seed });
}

/** Files of plain LAS, each with one thing wrong, from one sound scene. */
export function brokenLas(seed: number): BrokenFile[] {
  const points = smallScene(seed);
  const sound = writeLas({ ...SOUND, points });
  const start = new DataView(sound.buffer).getUint32(96, true);
  const lie = (overrides: LasOptions['headerOverrides']) =>
    writeLas({ ...SOUND, points, headerOverrides: overrides, unsound: true });
  const wkt = sound.slice(375 + 54, start);
  const files: BrokenFile[] = [];
  const add = (name: string, fault: string, how: Expectation['how'], word: string, bytes: Uint8Array) =>
    files.push({ name, fault, expected: { how, word }, bytes });

  add('sound.las', 'Nothing is wrong with this file.', 'sound', '', sound);
  const none = writeLas({ ...SOUND, points: createSceneColumns(0) });
  add('no-points.las', 'A sound file without a single point.', 'sound', '', none);

  const cut = start + Math.floor(points.count * 0.6) * RECORD_LENGTH + 11;
  add('cut-short.las', 'The file ends in the middle of its points.', 'fault', 'file-truncated', sound.slice(0, cut));
  add('cut-in-header.las', 'The file ends inside its header.', 'fault', 'header-too-short', sound.slice(0, 150));
  add(
    'cut-in-records.las',
    'The file ends before its points begin.',
    'fault',
    'points-outside-file',
    sound.slice(0, 700),
  );
  add('nothing.las', 'The file has no bytes at all.', 'fault', 'not-a-cloud', new Uint8Array(0));
  const text = new TextEncoder().encode('id,easting,northing,height\nCP01,561002.900,5932197.195,3.100\n');
  add('text.las', 'A table of survey points that was given the name of a cloud.', 'fault', 'not-a-cloud', text);
  const zeros = new Uint8Array(sound.length);
  add('zeros.las', 'All bytes are zero, as a failed copy leaves them.', 'fault', 'not-a-cloud', zeros);

  const beyond = lie({ offsetToPoints: sound.length + 1000 });
  add('offset-beyond-end.las', 'The points are said to begin behind the end.', 'fault', 'points-outside-file', beyond);
  const inside = lie({ offsetToPoints: 400 });
  add('offset-in-records.las', 'The points are said to begin inside the first record.', 'issue', 'vlr-count', inside);
  add('format-11.las', 'The point format does not exist.', 'fault', 'point-format-unknown', lie({ format: 11 }));
  const short = lie({ recordLength: 20 });
  add('short-records.las', 'A point of format 6 is said to have 20 bytes.', 'fault', 'record-length-short', short);
  const many = lie({ count: points.count + 5000 });
  add('count-too-high.las', 'The header announces 5000 points more than there are.', 'fault', 'file-truncated', many);
  const few = lie({ count: points.count - 100 });
  add('count-too-low.las', 'The header announces 100 points fewer than there are.', 'issue', 'bytes-after-points', few);
  const scale = lie({ scale: [0.001, 0.001, 0] });
  add('scale-zero.las', 'The scale of the heights is zero.', 'fault', 'bad-scale', scale);
  const nan = lie({ offset: [Number.NaN, 5_932_000, 0] });
  add('offset-not-a-number.las', 'The offset of the eastings is not a number.', 'fault', 'bad-scale', nan);

  const legacy = lie({ legacyCount: points.count, legacyByReturn: [points.count, 0, 0, 0, 0] });
  add('legacy-counts.las', 'The old count is filled in for format 6.', 'issue', 'count-legacy-format', legacy);
  const returns = lie({ byReturn: new Array<number>(15).fill(0) });
  add('counts-by-return.las', 'The numbers of points by return are all zero.', 'issue', 'count-by-return', returns);
  add('wkt-bit.las', 'Format 6 without the bit for WKT.', 'issue', 'encoding-wkt', lie({ globalEncoding: 1 }));
  add(
    'reserved-bit.las',
    'A reserved bit of the encoding is set.',
    'issue',
    'encoding-reserved',
    lie({ globalEncoding: 0x8011 }),
  );
  add('day-zero.las', 'The file was written on day 0 of the year.', 'issue', 'creation-day', lie({ creationDay: 0 }));
  add('record-count.las', 'Nine records are announced, one is there.', 'issue', 'vlr-count', lie({ vlrCount: 9 }));
  const long = sound.slice();
  new DataView(long.buffer).setUint16(375 + 20, 60_000, true);
  add('record-length.las', 'The first record is said to reach into the points.', 'issue', 'vlr-beyond-points', long);
  const second = { userId: 'LASF_Projection', recordId: 2112, data: wkt };
  const twice = writeLas({ ...SOUND, points, vlrs: [second] });
  add('crs-twice.las', 'The coordinate system is recorded twice.', 'issue', 'crs-record-repeated', twice);

  add(
    'crs-missing.las',
    'No coordinate system is recorded.',
    'check',
    'crs',
    writeLas({ ...SOUND, crs: null, points }),
  );
  const box = lie({ max: beyondEast(sound) });
  add('box-too-large.las', 'The header claims 3.5 m more to the east than there is.', 'check', 'header-agreement', box);
  const stray = writeLas({ ...SOUND, points: withStray(points) });
  const far = 'One point lies 185 km to the east, and the header agrees with it.';
  add('stray-point.las', far, 'check', 'isolated-points', stray);
  const doubled = writeLas({ ...SOUND, points: joinPoints([points, points]) });
  add('every-point-twice.las', 'Every point is there twice.', 'check', 'duplicates', doubled);
  const zero = { ...points, returnNumber: new Uint8Array(points.count) };
  const allFirst = [points.count, ...new Array<number>(14).fill(0)];
  const returnZero = writeLas({ ...SOUND, points: zero, headerOverrides: { byReturn: allFirst } });
  add('return-zero.las', 'Every return has the number zero.', 'check', 'point-attributes', returnZero);
  return files;
}

/** The upper bounds of a file with the easting 3.5 m larger. */
function beyondEast(sound: Uint8Array): [number, number, number] {
  const view = new DataView(sound.buffer);
  return [view.getFloat64(179, true) + 3.5, view.getFloat64(195, true), view.getFloat64(211, true)];
}

function withStray(points: SceneColumns): SceneColumns {
  const one = selectPoints(points, (i) => i === 0);
  one.x[0] += 185_000;
  return joinPoints([points, one]);
}
