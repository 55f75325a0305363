import type { BrokenFile, Expectation } from './broken-las.js';

/**
 * Files of LAZ, each with one thing wrong, from a sound one of format 6 or above in several chunks. Layout: LASzip, the
 * open specification of the format (chunk table position in the first eight bytes of the point data).
 */
export function brokenLaz(sound: Uint8Array): BrokenFile[] {
  const view = new DataView(sound.buffer, sound.byteOffset, sound.byteLength);
  const start = view.getUint32(96, true);
  const table = Number(view.getBigInt64(start, true));
  const files: BrokenFile[] = [];
  const add = (name: string, fault: string, how: Expectation['how'], word: string, bytes: Uint8Array) =>
    files.push({ name, fault, expected: { how, word }, bytes });
  const edited = (edit: (view: DataView, bytes: Uint8Array) => void) => {
    // Not slice(): on a Buffer that is a view of the same memory.
    const bytes = new Uint8Array(sound);
    edit(new DataView(bytes.buffer), bytes);
    return bytes;
  };

  add('sound.laz', 'Nothing is wrong with this file.', 'sound', '', sound);
  const half = sound.subarray(0, start + Math.floor((table - start) / 2));
  add('cut-short.laz', 'The file ends in the middle of its points.', 'fault', 'file-truncated', half);
  // Eight bytes before the first chunk, where the position itself stands: the value a writer puts there before it is done.
  const interrupted = edited((v) => v.setBigInt64(start, BigInt(start), true));
  add('interrupted.laz', 'The writer never came to the chunk table.', 'fault', 'laz-interrupted', interrupted);
  const noRecord = edited((_, bytes) => bytes.set(new TextEncoder().encode('nothing encoded'), lazRecordAt(bytes) + 2));
  add(
    'no-laz-record.laz',
    'The record that says how the points are packed is missing.',
    'fault',
    'laz-record-missing',
    noRecord,
  );
  const coder = edited((v, bytes) => v.setUint16(lazRecordAt(bytes) + 54 + 2, 9, true));
  add(
    'unknown-coder.laz',
    'The points are said to be packed with an unknown coder.',
    'fault',
    'laz-format-unsupported',
    coder,
  );
  const tableCount = edited((v) => v.setUint32(table + 4, v.getUint32(table + 4, true) + 40, true));
  add('chunk-count.laz', 'The chunk table announces 40 chunks too many.', 'fault', 'laz-chunk-table', tableCount);
  return files;
}

/** Byte position of the LAZ record's header. @throws Error when there is none. */
function lazRecordAt(bytes: Uint8Array): number {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  let at = view.getUint16(94, true);
  for (let k = view.getUint32(100, true); k > 0; k--) {
    if (view.getUint16(at + 18, true) === 22204) return at;
    at += 54 + view.getUint16(at + 20, true);
  }
  throw new Error('the sound file has no LAZ record');
}
