/**
 * Counts points by class, return number and number of returns. The columns are u8.
 * @param to address of 256 + 16 + 16 counts (u32), which are added to
 *
 * Consecutive points mostly have the same three values, so a run of equal points is added once, when it ends.
 */
export function countClassesAndReturns(classes: usize, numbers: usize, returns: usize, count: usize, to: usize): void {
  const end = classes + count;
  let current: u32 = 0xffffffff;
  let n: u32 = 0;
  for (; classes < end; classes++, numbers++, returns++) {
    const key = <u32>load<u8>(classes) | ((<u32>load<u8>(numbers)) << 8) | ((<u32>load<u8>(returns)) << 16);
    if (key == current) {
      n++;
      continue;
    }
    if (n > 0) add(current, n, to);
    current = key;
    n = 1;
  }
  if (n > 0) add(current, n, to);
}

function add(key: u32, n: u32, to: usize): void {
  addTo(to + ((key & 255) << 2), n);
  addTo(to + ((256 + ((key >> 8) & 15)) << 2), n);
  addTo(to + ((272 + ((key >> 16) & 15)) << 2), n);
}

// @ts-ignore: decorator
@inline
function addTo(at: usize, n: u32): void {
  store<u32>(at, load<u32>(at) + n);
}
