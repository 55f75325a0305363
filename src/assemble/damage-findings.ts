import { chunkFault } from '../cloud/chunk-guard.js';
import { grouped } from '../cloud/text.js';
import type { DeliveredFile } from '../delivery/delivery.js';
import { Fault } from '../fault.js';
import type { Finding } from '../report/model.js';

/** Number of damaged chunks of one file that have a finding of their own; the others share one finding. */
const NAMED = 50;

/** The findings about the damaged chunks of a file, at most 51: the first 50 chunks, then one for the others. */
export function damageFindings({ name, damage }: DeliveredFile): Finding[] {
  const findings = damage.slice(0, NAMED).map((chunk): Finding => {
    const { index, first, points, begin, end, guard } = chunk;
    const facts = chunkFault(chunk, name).facts;
    return {
      severity: 'error',
      code: 'chunk-damaged',
      file: name,
      text: `${Fault.sentence({ ...facts, advice: undefined })}; its ${grouped(points)} points are left out of every figure`,
      chunk: { number: index + 1, firstPoint: first + 1, points, firstByte: begin, bytes: end - begin, guard },
    };
  });
  const more = damage.slice(NAMED);
  if (more.length === 0) return findings;
  const points = more.reduce((sum, chunk) => sum + chunk.points, 0);
  const text = `${name}: ${grouped(more.length)} more compressed chunks are damaged; their ${grouped(points)} points are left out of every figure`;
  return [...findings, { severity: 'error', code: 'chunk-damaged', file: name, text }];
}
