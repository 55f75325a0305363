/** The items with the largest sizes, in the order in which they were given; all of them where there are no more than `most`. */
export function largestOf<Item>(items: readonly Item[], sizeOf: (item: Item) => number, most: number): readonly Item[] {
  if (items.length <= most) return items;
  const sizes = items.map(sizeOf);
  const places = sizes.map((_, i) => i).sort((a, b) => sizes[b] - sizes[a] || a - b);
  return places
    .slice(0, most)
    .sort((a, b) => a - b)
    .map((i) => items[i]);
}
