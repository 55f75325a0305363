import type { AnyBlockDerivation } from '../../src/measure/contract/measurement.js';
import { measurementById } from '../../src/measure/index.js';
import { batchOf, type TestPoint } from './point-batches.js';

/** The result of a block derivation over the points of one file, without a second reading. */
export function resultOfBlocks(derivation: AnyBlockDerivation, params: unknown, points: readonly TestPoint[]): unknown {
  const request = derivation.from(params);
  const m = measurementById(request.measurement);
  const state = m.create(request.params);
  m.add(state, batchOf(points));
  const blocks = new Map<string, { column: number; row: number; packed: ArrayBuffer[] }>();
  for (const { column, row, packed, bytes } of m.blocks!.cut(state)) {
    const block = blocks.get(`${column} ${row}`) ?? { column, row, packed: [] };
    block.packed.push(packed.slice(0, bytes));
    blocks.set(`${column} ${row}`, block);
  }
  const parts = [...blocks.values()].map(({ packed, ...at }) =>
    structuredClone(derivation.collect(m.blocks!.open(at, packed, request.params), params)),
  );
  return derivation.combine(derivation.gather(parts), params, (() => null) as never);
}
