/**
 * Places of the largest values, the largest first, the earlier one first among equals. One look at each value: sorting a
 * million of them to find ten would take a second.
 */
export function placesOfLargest(values: ArrayLike<number>, most: number): number[] {
  const places: number[] = [];
  for (let i = 0; i < values.length; i++) {
    if (places.length === most && !(values[i] > values[places[most - 1]])) continue;
    let at = places.length;
    while (at > 0 && values[i] > values[places[at - 1]]) at--;
    places.splice(at, 0, i);
    if (places.length > most) places.pop();
  }
  return places;
}
