import { Fault } from '../fault.js';
import type { FormatReader } from './raw-drive.js';
import { CsvReader } from './read-csv.js';

/**
 * The reader for a file, by its first bytes.
 * @param where name of the file in messages
 * @throws Fault `trajectory-table` for UTF-16 text
 */
export function detectFormat(head: Uint8Array, where: string): FormatReader {
  if ((head[0] === 0xff && head[1] === 0xfe) || (head[0] === 0xfe && head[1] === 0xff)) {
    throw new Fault({
      code: 'trajectory-table',
      where,
      what: 'the file is text in UTF-16',
      advice: 'Save it as UTF-8',
    });
  }
  return new CsvReader(where);
}
