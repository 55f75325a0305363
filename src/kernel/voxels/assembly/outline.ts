import { scratch, free, gather, list, side } from './block';
import { beginRecords, groupAt, groupOf, nextIndex, recordAt, recordCount, recordOf, roomForColumns } from './groups';
import { SUB_VOXEL_HEADS, SUB_VOXELS_WIDE, VOXELS_WIDE } from './memory';
import { sort } from './order';
import { at } from './visit';

/** Bytes for each pass met in a square: pass (i32), 4 unused bytes, lowest mean height of its sub-voxels (f64, quanta). */
const LOWEST_BYTES: usize = 16;

/**
 * Outline of each pass. Two kinds of groups:
 * kind 0, passes a and b: for each square one voxel wide in which both have points, the height of b's lowest sub-voxel above
 * a's (f32, quanta) and the number of the square, row by row (u16);
 * kind 1, one pass: column and row of sub-voxels that have points in at least `levels` levels one above the other (two i32);
 * the group exists even when it has no records.
 * @returns address of the columns (all of kind 1, then the heights and the squares of all of kind 0); 0 where memory is short
 */
export function visitOutline(levels: i32): usize {
  beginRecords(free, 8);
  for (let y = 0; y < VOXELS_WIDE; y++) {
    for (let x = 0; x < VOXELS_WIDE; x++) {
      let n = 0;
      for (let k = 0; k < 4; k++) {
        const square = (2 * y + (k >> 1)) * SUB_VOXELS_WIDE + 2 * x + (k & 1);
        n = gather(SUB_VOXEL_HEADS + (<usize>square << 2), n);
      }
      if (n == 0) continue;
      sort(list, n, false);
      if (!outlineSquare(n, levels, y * VOXELS_WIDE + x)) return 0;
    }
  }
  return outlineColumns();
}

function outlineSquare(n: i32, levels: i32, square: i32): bool {
  let passesSeen: usize = 0;
  let i = 0;
  while (i < n) {
    const pass = load<i32>(at(i), 12);
    const group = groupOf(1, pass, 0);
    if (group == 0) return false;
    let lowest = Infinity;
    while (i < n && load<i32>(at(i), 12) == pass) {
      const first = at(i);
      const from = i;
      while (i < n && isOver(at(i), first)) {
        const subVoxel = at(i);
        lowest = min(lowest, <f64>load<i32>(subVoxel, 8) * side + load<f64>(subVoxel, 40) / load<f64>(subVoxel, 16));
        i++;
      }
      if (i - from < levels) continue;
      const record = recordOf(group);
      if (record == 0) return false;
      store<u64>(record, load<u64>(first));
    }
    for (let k: usize = 0; k < passesSeen; k++) {
      const other = scratch + k * LOWEST_BYTES;
      const record = recordOfPair(load<i32>(other), pass);
      if (record == 0) return false;
      store<f32>(record, <f32>(lowest - load<f64>(other, 8)));
      store<i32>(record, square, 4);
    }
    store<i32>(scratch + passesSeen * LOWEST_BYTES, pass);
    store<f64>(scratch + passesSeen * LOWEST_BYTES, lowest, 8);
    passesSeen++;
  }
  return true;
}

function recordOfPair(a: i32, b: i32): usize {
  const group = groupOf(0, a, b);
  return group == 0 ? 0 : recordOf(group);
}

function outlineColumns(): usize {
  const n = recordCount();
  const columnRows = roomForColumns(14 * <usize>n + 16);
  if (columnRows == 0) return 0;
  let upright: usize = 0;
  for (let i = 0; i < n; i++) if (load<i32>(groupAt(recordAt(i))) == 1) upright++;
  const heights = columnRows + 8 * upright;
  const squares = heights + 4 * (<usize>n - upright);
  for (let i = 0; i < n; i++) {
    const record = recordAt(i);
    const group = groupAt(record);
    const k = nextIndex(group);
    if (load<i32>(group) == 1) store<u64>(columnRows + 8 * k, load<u64>(record));
    else {
      store<f32>(heights + 4 * k, load<f32>(record));
      store<u16>(squares + 2 * k, load<u16>(record, 4));
    }
  }
  return columnRows;
}

function isOver(a: usize, b: usize): bool {
  return load<i32>(a) == load<i32>(b) && load<i32>(a, 4) == load<i32>(b, 4) && load<i32>(a, 12) == load<i32>(b, 12);
}
