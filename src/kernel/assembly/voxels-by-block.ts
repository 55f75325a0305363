/** Bytes of the head of a group: column and row of its area, 1 if its cubes are of the next areas, and in the end where its cubes end (i32). */
const HEAD: usize = 16;

// Groups so far, where their heads are, and the one looked for last.
let groups: i32 = 0;
let most: i32 = 0;
let heads: usize = 0;
let lately: usize = 0;

/**
 * Puts cubes together by area: those of one area stand side by side at `to`, group after group as `first` tells. Cubes at
 * the western and southern border of an area go to its neighbours besides, for voxels of the second lattice start at the
 * last cube of an area.
 *
 * @param each bytes of a cube, a multiple of 16, its column and row first
 * @param shift an area is 2^shift cubes wide
 * @param room groups there is room for, four at the least
 * @param marks room for four words a cube
 * @param to room for every cube four times
 * @returns how many cubes were taken: fewer than there are when there are more groups than room
 */
export function cutByArea(
  cubes: usize,
  count: i32,
  each: usize,
  shift: i32,
  first: usize,
  room: i32,
  marks: usize,
  to: usize,
): i32 {
  groups = 0;
  most = room;
  heads = first;
  lately = first;
  const inside = (1 << shift) - 1;
  let taken = 0;
  // Which groups each cube goes to, counted; then where each group begins; then cube by cube.
  for (; taken < count; taken++) {
    const cube = cubes + <usize>taken * each;
    const x = load<i32>(cube);
    const y = load<i32>(cube, 4);
    const column = x >> shift;
    const row = y >> shift;
    const west = (x & inside) == 0;
    const south = (y & inside) == 0;
    const mark = marks + (<usize>taken << 4);
    if ((west || south) && groups + 4 > most) break;
    const own = group(column, row, 0);
    if (own < 0) break;
    store<i32>(mark, own);
    store<i32>(mark, west ? group(column - 1, row, 1) : -1, 4);
    store<i32>(mark, south ? group(column, row - 1, 1) : -1, 8);
    store<i32>(mark, west && south ? group(column - 1, row - 1, 1) : -1, 12);
    for (let k: usize = 0; k < 16; k += 4) {
      const at = load<i32>(mark + k);
      if (at >= 0) more(first + <usize>at * HEAD, 1);
    }
  }
  let begin = to;
  for (let g = 0; g < groups; g++) {
    const head = first + <usize>g * HEAD;
    const end = begin + <usize>load<i32>(head, 12) * each;
    store<u32>(head, <u32>begin, 12);
    begin = end;
  }
  for (let i = 0; i < taken; i++) {
    const cube = cubes + <usize>i * each;
    const mark = marks + (<usize>i << 4);
    for (let k: usize = 0; k < 16; k += 4) {
      const at = load<i32>(mark + k);
      if (at < 0) continue;
      const head = first + <usize>at * HEAD;
      const target = <usize>load<u32>(head, 12);
      for (let b: usize = 0; b < each; b += 16) v128.store(target + b, v128.load(cube + b));
      more(head, <i32>each);
    }
  }
  return taken;
}

/** How many groups there are. */
export function groupsCut(): i32 {
  return groups;
}

function more(head: usize, by: i32): void {
  store<i32>(head, load<i32>(head, 12) + by, 12);
}

/** Number of a group, made if it is new; -1 where there is no room. */
function group(column: i32, row: i32, rim: i32): i32 {
  if (groups > 0 && is(lately, column, row, rim)) return <i32>((lately - heads) / HEAD);
  for (let g = 0; g < groups; g++) {
    const head = heads + <usize>g * HEAD;
    if (!is(head, column, row, rim)) continue;
    // The border is left again at once.
    if (rim == 0) lately = head;
    return g;
  }
  if (groups == most) return -1;
  const head = heads + <usize>groups * HEAD;
  store<i32>(head, column);
  store<i32>(head, row, 4);
  store<i32>(head, rim, 8);
  store<i32>(head, 0, 12);
  groups++;
  return groups - 1;
}

// @ts-ignore: decorator
@inline
function is(head: usize, column: i32, row: i32, rim: i32): bool {
  return load<i32>(head) == column && load<i32>(head, 4) == row && load<i32>(head, 8) == rim;
}
