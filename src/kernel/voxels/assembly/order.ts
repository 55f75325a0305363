// Records of one column and row are chained in the order in which they were made, so they are sorted before use.

/** Gaps of Shell's method: Ciura's sequence, continued by a factor of 2.25. Most chains are short; a few are long. */
const GAPS: StaticArray<i32> = [460_000, 204_000, 90_927, 40_412, 17_961, 7983, 3548, 1577, 701, 301, 132, 57, 23, 10, 4, 1];

/** Sorts addresses of records: by level first where `levelFirst`; then by pass, row, column and level. */
export function sort(list: usize, count: i32, levelFirst: bool): void {
  for (let g = 0; g < GAPS.length; g++) {
    const gap = unchecked(GAPS[g]);
    for (let i = gap; i < count; i++) {
      const record = load<u32>(list + (<usize>i << 2));
      let k = i;
      while (k >= gap && isBefore(record, load<u32>(list + (<usize>(k - gap) << 2)), levelFirst)) {
        store<u32>(list + (<usize>k << 2), load<u32>(list + (<usize>(k - gap) << 2)));
        k -= gap;
      }
      store<u32>(list + (<usize>k << 2), record);
    }
  }
}

// @ts-ignore: decorator
@inline
function isBefore(a: usize, b: usize, levelFirst: bool): bool {
  const levelA = load<i32>(a, 8);
  const levelB = load<i32>(b, 8);
  if (levelFirst && levelA != levelB) return levelA < levelB;
  const passA = load<i32>(a, 12);
  const passB = load<i32>(b, 12);
  if (passA != passB) return passA < passB;
  const rowA = load<i32>(a, 4);
  const rowB = load<i32>(b, 4);
  if (rowA != rowB) return rowA < rowB;
  const columnA = load<i32>(a);
  const columnB = load<i32>(b);
  if (columnA != columnB) return columnA < columnB;
  return levelA < levelB;
}
