/**
 * Counts points by class, by return number and by number of returns: 256, 16 and 16 counts (u32) at `to`, added to. The
 * same labels mostly come in a row: a run is counted when it ends.
 */
export function countLabels(classes: usize, numbers: usize, returns: usize, count: usize, to: usize): void {
  const end = classes + count;
  let held: u32 = 0xffffffff;
  let n: u32 = 0;
  for (; classes < end; classes++, numbers++, returns++) {
    const label = <u32>load<u8>(classes) | ((<u32>load<u8>(numbers)) << 8) | ((<u32>load<u8>(returns)) << 16);
    if (label == held) {
      n++;
      continue;
    }
    if (n > 0) add(held, n, to);
    held = label;
    n = 1;
  }
  if (n > 0) add(held, n, to);
}

function add(label: u32, n: u32, to: usize): void {
  more(to + ((label & 255) << 2), n);
  more(to + ((256 + ((label >> 8) & 15)) << 2), n);
  more(to + ((272 + ((label >> 16) & 15)) << 2), n);
}

// @ts-ignore: decorator
@inline
function more(at: usize, n: u32): void {
  store<u32>(at, load<u32>(at) + n);
}
