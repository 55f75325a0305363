import { readChunkTable } from '../../src/cloud/chunk-table.js';
import { Header } from '../../src/cloud/header.js';
import { readLazRecord } from '../../src/cloud/laz-record.js';
import { readRecords } from '../../src/cloud/vlr.js';
import type { ChunkPlace } from '../../src/simulate/encoder/laz-encoder.js';
import { MemorySource } from '../cloud/memory-source.js';

/** Where the chunks of a LAZ file lie. */
export async function chunksOf(laz: Uint8Array): Promise<ChunkPlace[]> {
  const source = new MemorySource(laz);
  const header = Header.parse(laz, laz.length);
  const { vlrs } = await readRecords(source, header);
  return readChunkTable(source, header, readLazRecord(vlrs, 'sample'));
}
