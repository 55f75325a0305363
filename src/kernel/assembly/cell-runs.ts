/** Bytes of a run: cell column, row, pass and number of points (i32). */
const COUNT_RUN: usize = 16;
/** Bytes of a run with times: column, row, pass, nothing (i32), earliest and latest time (f64). */
const TIME_RUN: usize = 32;

/**
 * Points that follow one another in the same square cell and pass, counted.
 * @returns how many runs there are
 */
export function countRuns(
  east: usize,
  north: usize,
  pass: usize,
  live: usize,
  count: usize,
  side: f64,
  to: usize,
): i32 {
  const first = to;
  const end = live + count;
  let cornerX: f64 = 0;
  let cornerY: f64 = 0;
  let runPass: i32 = 0;
  let n: i32 = 0;
  for (; live < end; live++, east += 8, north += 8, pass += 4) {
    if (load<u8>(live) == 0) continue;
    const x = load<f64>(east) - cornerX;
    const y = load<f64>(north) - cornerY;
    const own = load<i32>(pass);
    if (n == 0 || !(x >= 0 && x < side && y >= 0 && y < side) || own != runPass) {
      if (n > 0) {
        store<i32>(to, n, 12);
        to += COUNT_RUN;
      }
      const column = Math.floor(load<f64>(east) / side);
      const row = Math.floor(load<f64>(north) / side);
      runPass = own;
      store<i32>(to, <i32>column);
      store<i32>(to, <i32>row, 4);
      store<i32>(to, own, 8);
      cornerX = column * side;
      cornerY = row * side;
      n = 0;
    }
    n++;
  }
  if (n > 0) {
    store<i32>(to, n, 12);
    to += COUNT_RUN;
  }
  return <i32>((to - first) / COUNT_RUN);
}

/**
 * Earliest and latest time of points that follow one another in the same square cell and pass. Points whose time is not
 * a finite number are left out.
 * @returns how many runs there are
 */
export function timeRuns(
  east: usize,
  north: usize,
  pass: usize,
  live: usize,
  time: usize,
  count: usize,
  side: f64,
  to: usize,
): i32 {
  const first = to;
  const end = live + count;
  let cornerX: f64 = 0;
  let cornerY: f64 = 0;
  let runPass: i32 = 0;
  let open = false;
  let low: f64 = 0;
  let high: f64 = 0;
  for (; live < end; live++, east += 8, north += 8, pass += 4, time += 8) {
    const t = load<f64>(time);
    if (load<u8>(live) == 0 || t - t != 0) continue;
    const x = load<f64>(east) - cornerX;
    const y = load<f64>(north) - cornerY;
    const own = load<i32>(pass);
    if (open && x >= 0 && x < side && y >= 0 && y < side && own == runPass) {
      // Not min and max of WebAssembly, which are slower: t is a number.
      if (t < low) low = t;
      else if (t > high) high = t;
      continue;
    }
    if (open) {
      store<f64>(to, low, 16);
      store<f64>(to, high, 24);
      to += TIME_RUN;
    }
    const column = Math.floor(load<f64>(east) / side);
    const row = Math.floor(load<f64>(north) / side);
    open = true;
    runPass = own;
    store<i32>(to, <i32>column);
    store<i32>(to, <i32>row, 4);
    store<i32>(to, own, 8);
    cornerX = column * side;
    cornerY = row * side;
    low = t;
    high = t;
  }
  if (open) {
    store<f64>(to, low, 16);
    store<f64>(to, high, 24);
    to += TIME_RUN;
  }
  return <i32>((to - first) / TIME_RUN);
}
