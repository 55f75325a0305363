import { chunkFault, type DamagedChunk, placeOfChunk } from '../cloud/chunk-guard.js';
import { grouped } from '../cloud/text.js';
import type { DeliveredFile } from '../delivery/delivery.js';
import { Fault } from '../fault.js';

const DAMAGED = 'laz-chunk-damaged';

/** Notes damaged chunks in a file, sorted by their first byte. */
export function addDamage(file: DeliveredFile, found: readonly DamagedChunk[]): void {
  if (found.length === 0) return;
  file.damage = [...file.damage, ...found].sort((a, b) => a.begin - b.begin);
}

/** Number of damaged chunks that are known in all files together. */
export function damagedChunks(files: readonly DeliveredFile[]): number {
  return files.reduce((sum, { damage }) => sum + damage.length, 0);
}

/** Whether damaged chunks are the only fault of a file: all of its other points were read. */
export function isOnlyDamaged({ damage, faultFacts }: DeliveredFile): boolean {
  return damage.length > 0 && faultFacts?.code === DAMAGED;
}

/** Number of points in the damaged chunks of a file. */
export function damagedPoints({ damage }: DeliveredFile): number {
  return damage.reduce((sum, { points }) => sum + points, 0);
}

/** The fault of a file that has damaged chunks: their number, their points, and where the first one is. */
export function faultOfDamage(file: DeliveredFile): Fault {
  const { damage, name } = file;
  const [first] = damage;
  if (damage.length === 1) {
    const { facts } = chunkFault(first, name);
    return new Fault({
      ...facts,
      what: `${facts.what}; its ${grouped(first.points)} points are left out of every figure`,
    });
  }
  return new Fault({
    code: DAMAGED,
    where: name,
    what: `${grouped(damage.length)} compressed chunks are damaged, their ${grouped(damagedPoints(file))} points are left out of every figure; the first is ${placeOfChunk(first)}: ${first.what}`,
    advice: 'Copy the file again; if that does not help, write it again',
    rule: 'laz-chunk',
    offset: first.begin,
  });
}
