import { constants } from 'node:fs';
import { type FileHandle, open } from 'node:fs/promises';
import { Fault, handlesFault } from '../fault.js';

/** Bytes in the largest file that is read as a whole: a spec, a side file, a report. Stated in README.md. */
export const INPUT_BYTES_MAX = 256 << 20;
const PIECE_BYTES = 1 << 20;
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
    return await whole(pieces(handle), path, what);
  } catch (error) {
    if (error instanceof Fault) throw error;
    const handles = handlesFault(error);
    if (handles !== null) throw handles;
    const code = (error as NodeJS.ErrnoException).code ?? String(error);
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
