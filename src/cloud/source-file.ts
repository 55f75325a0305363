import type { BigIntStats } from 'node:fs';
import { type FileHandle, open, stat } from 'node:fs/promises';
import { basename } from 'node:path';
import { Fault, handlesFault } from '../fault.js';

/** A local file: one handle, positional reads, so that any number of reads may be under way at once. */
export class FileSource {
  readonly address: string;
  readonly name: string;
  readonly size: number;
  readonly identity: string;
  private readonly handle: FileHandle;

  private constructor(address: string, handle: FileHandle, size: number, identity: string) {
    this.address = address;
    this.name = basename(address);
    this.handle = handle;
    this.size = size;
    this.identity = identity;
  }

  /** @throws Fault file-missing, file-unreadable */
  static async open(path: string): Promise<FileSource> {
    let handle: FileHandle | null = null;
    try {
      handle = await open(path, 'r');
      const stat = await handle.stat({ bigint: true });
      if (!stat.isFile()) {
        throw new Fault({ code: 'file-unreadable', what: 'this is not a file', where: path });
      }
      return new FileSource(path, handle, Number(stat.size), identityOfStat(stat));
    } catch (error) {
      await handle?.close();
      throw refusal(error, path);
    }
  }

  /**
   * Reads bytes begin to end (exclusive), into `into` if that is large enough, and returns exactly those bytes.
   * @throws Fault file-truncated (asked for more than the file had when opened), file-shrunk (it has lost bytes since),
   * file-unreadable
   */
  async read(begin: number, end: number, into?: Uint8Array): Promise<Uint8Array> {
    checkRange(begin, end, this.size, this.address);
    const length = end - begin;
    const bytes = into && into.byteLength >= length ? into.subarray(0, length) : new Uint8Array(length);
    let done = 0;
    while (done < length) {
      let got: number;
      try {
        got = (await this.handle.read(bytes, done, length - done, begin + done)).bytesRead;
      } catch (error) {
        throw refusal(error, this.address);
      }
      if (got === 0) {
        throw new Fault({
          code: 'file-shrunk',
          what: 'the file has become shorter while it was read',
          where: this.address,
          found: `end at byte ${begin + done}`,
          expected: `${this.size} bytes`,
          advice: 'Something is writing to it: check it again when the transfer is finished.',
        });
      }
      done += got;
    }
    return bytes;
  }

  async close(): Promise<void> {
    await this.handle.close();
  }
}

/**
 * Identity of a local file: it changes when the file is replaced, overwritten or extended.
 * @throws Fault file-missing, file-unreadable
 */
export async function fileIdentity(path: string): Promise<string> {
  try {
    return identityOfStat(await stat(path, { bigint: true }));
  } catch (error) {
    throw refusal(error, path);
  }
}

/** The time of the last change of any kind is part of it: unlike that of modification, no program can put it back. */
function identityOfStat({ size, mtimeNs, ctimeNs, ino }: BigIntStats): string {
  return `${size}-${mtimeNs}-${ctimeNs}-${ino}`;
}

/** The fault of a file that is not the one that was opened first. */
export function changedFault(where: string): Fault {
  return new Fault({
    code: 'file-changed',
    what: 'the file changed while it was read, so its figures may mix old and new points',
    where,
    advice: 'Copy it again, or check again when writing has ended',
  });
}

/** Refuses a range outside the source, in words. @throws Fault file-truncated */
export function checkRange(begin: number, end: number, size: number, where: string): void {
  if (begin >= 0 && begin <= end && end <= size) return;
  throw new Fault({
    code: 'file-truncated',
    what: 'bytes are needed that the file does not have',
    where,
    found: `${size} bytes`,
    expected: `bytes ${begin} to ${end}`,
    advice: 'The transfer was probably cut short: copy the file again.',
  });
}

function refusal(error: unknown, where: string): Fault {
  if (error instanceof Fault) return error;
  const handles = handlesFault(error);
  if (handles !== null) return handles;
  const code = (error as NodeJS.ErrnoException).code ?? '';
  if (code === 'ENOENT' || code === 'ENOTDIR') {
    return new Fault({ code: 'file-missing', what: 'the file does not exist', where }, error);
  }
  const reasons: Record<string, string> = {
    EACCES: 'no permission to read the file',
    EPERM: 'no permission to read the file',
    EISDIR: 'this is a folder, not a file',
    EIO: 'the disk reports an input/output error',
  };
  const what = reasons[code] ?? `the file cannot be read (${code || String(error)})`;
  return new Fault({ code: 'file-unreadable', what, where }, error);
}
