import { Fault } from '../fault.js';
import type { FormatReader } from './raw-drive.js';
import { CsvReader } from './read-csv.js';
import { readGpx } from './read-gpx.js';
import { readMovingFeatures } from './read-moving-features.js';
import { NmeaReader } from './read-nmea.js';
import { WholeText } from './whole-text.js';

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
  const begin = Buffer.from(head.subarray(0, 4096))
    .toString('latin1')
    .replace(/^\u00ef\u00bb\u00bf/, '')
    .trimStart();
  if (begin.startsWith('<')) return new WholeText(where, readGpx);
  if (begin.startsWith('{')) return new WholeText(where, readMovingFeatures);
  if (/(^|\n)[^\n]{0,40}\$[A-Z]{2}[A-Z]{3},/.test(begin)) return new NmeaReader(where);
  return new CsvReader(where);
}
