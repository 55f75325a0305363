import { constants } from 'node:fs';
import { type FileHandle, open } from 'node:fs/promises';
import { Fault, handlesFault } from '../fault.js';

/** Bytes in the largest file that is read as a whole: a spec, a side file, a report. Stated in README.md. */
export const INPUT_BYTES_MAX = 256 << 20;
const PIECE_BYTES = 1 << 20;
/** Bytes that are read at a time of a file that is not kept as a whole. */
const LARGE_PIECE_BYTES = 4 << 20;
/** Stands for standard input instead of the path of a file. */
export const STANDARD_INPUT = '-';

let standardInput: Promise<Uint8Array> | null = null;

/**
 * The bytes of a file named on the command line, or of standard input for `-`, which can be asked for any number of times.
 * A pipe or a device is refused without reading it: it may have no end.
 * @param what name of the kind of file in messages, such as "survey points file"
 * @throws Fault `file-missing`, `file-unreadable`, `file-too-large`
 */
export async function readInputFile(path: string, what: string): Promise<Uint8Array> {
  if (path === STANDARD_INPUT) {
    standardInput ??= whole(process.stdin, 'standard input', what);
    return standardInput;
  }
  return withInputFile(path, what, (handle) => whole(pieces(handle), path, what));
}

/**
 * Reads a file named on the command line piece by piece, however large it is; standard input for `-`, which is limited in size.
 * While `take` works on a piece, the next one is read. A piece must not be kept.
 * @param take gets the bytes, the number of bytes of all pieces so far, and those of the file
 * @throws Fault `file-missing`, `file-unreadable`, and what `take` throws
 */
export async function readInputPieces(
  path: string,
  what: string,
  take: (piece: Uint8Array, done: number, total: number) => void,
): Promise<void> {
  if (path === STANDARD_INPUT) {
    const bytes = await readInputFile(path, what);
    take(bytes, bytes.byteLength, bytes.byteLength);
    return;
  }
  await withInputFile(path, what, async (handle) => {
    const total = (await handle.stat()).size;
    const buffers = [new Uint8Array(LARGE_PIECE_BYTES), new Uint8Array(LARGE_PIECE_BYTES)];
    const read = (k: number) => handle.read(buffers[k % 2], 0, LARGE_PIECE_BYTES, null);
    let next = read(0);
    for (let k = 1, done = 0; ; k++) {
      const { bytesRead, buffer } = await next;
      if (bytesRead === 0) return;
      next = read(k);
      // Where `take` throws, the reading that is under way ends before the file is closed.
      next.catch(() => {});
      done += bytesRead;
      try {
        // A file that grows has more than it had when it was opened.
        take(buffer.subarray(0, bytesRead), done, Math.max(done, total));
      } catch (error) {
        await next;
        throw error;
      }
    }
  });
}

/** Opens a file, and gives every error a sentence. */
async function withInputFile<T>(path: string, what: string, work: (handle: FileHandle) => Promise<T>): Promise<T> {
  let handle: FileHandle | null = null;
  try {
    // Without O_NONBLOCK the opening of a pipe waits until somebody writes to it.
    handle = await open(path, constants.O_RDONLY | (constants.O_NONBLOCK ?? 0));
    const facts = await handle.stat();
    if (facts.isDirectory()) throw unreadable(path, `the ${what} cannot be read: it is a folder`);
    if (!facts.isFile()) {
      throw unreadable(
        path,
        `the ${what} is a pipe or a device, not a file`,
        `Write it to a file first, or give ${STANDARD_INPUT} and its content on standard input`,
      );
    }
    return await work(handle);
  } catch (error) {
    if (error instanceof Fault) throw error;
    const handles = handlesFault(error);
    if (handles !== null) throw handles;
    const code = (error as NodeJS.ErrnoException).code;
    // An error of the program is none of the file.
    if (code === undefined) throw error;
    if (code === 'ENOENT' || code === 'ENOTDIR')
      throw new Fault({ code: 'file-missing', what: `there is no such ${what}`, where: path }, error);
    throw unreadable(path, `the ${what} cannot be read: ${code}`, undefined, error);
  } finally {
    await handle?.close();
  }
}

async function* pieces(handle: FileHandle): AsyncGenerator<Uint8Array> {
  for (;;) {
    const { bytesRead, buffer } = await handle.read(new Uint8Array(PIECE_BYTES), 0, PIECE_BYTES, null);
    if (bytesRead === 0) return;
    yield buffer.subarray(0, bytesRead);
  }
}

/** Everything that comes, up to the size limit. */
async function whole(source: AsyncIterable<Uint8Array>, where: string, what: string): Promise<Uint8Array> {
  const parts: Uint8Array[] = [];
  let bytes = 0;
  for await (const part of source) {
    bytes += part.byteLength;
    if (bytes > INPUT_BYTES_MAX) {
      throw new Fault({
        code: 'file-too-large',
        what: `the ${what} is larger than ${INPUT_BYTES_MAX >> 20} MiB`,
        where,
        advice: 'Give the right file, or cut it into smaller ones',
      });
    }
    parts.push(part);
  }
  return Buffer.concat(parts);
}

function unreadable(where: string, what: string, advice?: string, cause?: unknown): Fault {
  return new Fault({ code: 'file-unreadable', what, where, ...(advice ? { advice } : {}) }, cause);
}
