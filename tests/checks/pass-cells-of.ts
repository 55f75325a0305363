import type { PassCells } from '../../src/measure/pass-cells.js';

/** A block of cells seen by the passes that `seen` names. */
export function passCellsOf(
  width: number,
  height: number,
  seen: (x: number, y: number) => number[],
  cell = 1,
): PassCells {
  const found = {
    cell,
    column: [] as number[],
    row: [] as number[],
    points: [] as number[],
    set: [] as number[],
    sets: [] as number[][],
  };
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const passes = seen(x, y);
      if (passes.length === 0) continue;
      let set = found.sets.findIndex((s) => s.join() === passes.join());
      if (set < 0) set = found.sets.push(passes) - 1;
      found.column.push(x);
      found.row.push(y);
      found.points.push(passes.length);
      found.set.push(set);
    }
  }
  return {
    cell,
    column: Int32Array.from(found.column),
    row: Int32Array.from(found.row),
    points: Float64Array.from(found.points),
    set: Int32Array.from(found.set),
    sets: found.sets,
  };
}
