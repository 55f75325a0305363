import { readInputFile } from '../spec/input-file.js';

/**
 * Reads a text file in the encodings that survey software writes: UTF-8 with or without byte order mark, UTF-16 with one
 * ("Unicode text" of spreadsheets), otherwise Windows-1252. Line ends are returned as `\n`.
 *
 * @param what name of the kind of file in messages, such as "survey points file"
 * @throws Fault `file-missing`, `file-unreadable`, `file-too-large`
 */
export async function readTextFile(path: string, what: string): Promise<string> {
  return decodeText(await readInputFile(path, what)).replace(/\r\n?/g, '\n');
}

function decodeText(bytes: Uint8Array): string {
  // TextDecoder drops the byte order mark of its own encoding.
  if (bytes[0] === 0xff && bytes[1] === 0xfe) return new TextDecoder('utf-16le').decode(bytes);
  if (bytes[0] === 0xfe && bytes[1] === 0xff) return new TextDecoder('utf-16be').decode(bytes);
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    return new TextDecoder('windows-1252').decode(bytes);
  }
}
