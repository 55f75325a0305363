import { besides, free, gather, list, side } from './area';
import { beginRecords, groupAt, groupOf, nextPlace, recordAt, recordCount, recordOf, roomForColumns } from './groups';
import { CUBE_HEADS, CUBES_WIDE, VOXELS_WIDE } from './memory';
import { sort } from './order';
import { at } from './visit';

/** Bytes of a pass of a square: pass (i32), nothing, lowest mean height of its cubes (f64). */
const SEEN: usize = 16;

/**
 * What each pass shows of its outline. Kind 0, a and b: how much higher the lowest cube of b is than that of a, a square of
 * the plan one voxel wide (f32). Kind 1, pass: column and row of the cubes where it holds points in `levels` of them above
 * one another (two i32), also where there are none. Columns: all of kind 1, then all of kind 0.
 */
export function visitOutline(levels: i32): usize {
  beginRecords(free, 8);
  for (let y = 0; y < VOXELS_WIDE; y++) {
    for (let x = 0; x < VOXELS_WIDE; x++) {
      let n = 0;
      for (let k = 0; k < 4; k++) {
        const square = (2 * y + (k >> 1)) * CUBES_WIDE + 2 * x + (k & 1);
        n = gather(CUBE_HEADS + (<usize>square << 2), n);
      }
      if (n == 0) continue;
      sort(list, n, false);
      if (!outlineSquare(n, levels)) return 0;
    }
  }
  return outlineColumns();
}

function outlineSquare(n: i32, levels: i32): bool {
  let seen: usize = 0;
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
        const cube = at(i);
        lowest = min(lowest, <f64>load<i32>(cube, 8) * side + load<f64>(cube, 40) / load<f64>(cube, 16));
        i++;
      }
      if (i - from < levels) continue;
      const record = recordOf(group);
      if (record == 0) return false;
      store<u64>(record, load<u64>(first));
    }
    for (let k: usize = 0; k < seen; k++) {
      const other = besides + k * SEEN;
      const record = recordOfPair(load<i32>(other), pass);
      if (record == 0) return false;
      store<f32>(record, <f32>(lowest - load<f64>(other, 8)));
    }
    store<i32>(besides + seen * SEEN, pass);
    store<f64>(besides + seen * SEEN, lowest, 8);
    seen++;
  }
  return true;
}

function recordOfPair(a: i32, b: i32): usize {
  const group = groupOf(0, a, b);
  return group == 0 ? 0 : recordOf(group);
}

function outlineColumns(): usize {
  const n = recordCount();
  const places = roomForColumns(12 * <usize>n + 16);
  if (places == 0) return 0;
  let upright: usize = 0;
  for (let i = 0; i < n; i++) if (load<i32>(groupAt(recordAt(i))) == 1) upright++;
  const heights = places + 8 * upright;
  for (let i = 0; i < n; i++) {
    const record = recordAt(i);
    const group = groupAt(record);
    const k = nextPlace(group);
    if (load<i32>(group) == 1) store<u64>(places + 8 * k, load<u64>(record));
    else store<f32>(heights + 4 * k, load<f32>(record));
  }
  return places;
}

function isOver(a: usize, b: usize): bool {
  return load<i32>(a) == load<i32>(b) && load<i32>(a, 4) == load<i32>(b, 4) && load<i32>(a, 12) == load<i32>(b, 12);
}
