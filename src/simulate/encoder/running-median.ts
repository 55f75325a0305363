/** Median of about the last five values: a new one takes the place of the largest or, in turn, of the smallest. */
export interface RunningMedian {
  value(): number;
  add(value: number): void;
}

/** A running median without values. */
export function createRunningMedian(): RunningMedian {
  const sorted = [0, 0, 0, 0, 0];
  let dropLargest = true;
  return {
    value: () => sorted[2],
    add(value) {
      const middle = sorted[2];
      // The value starts in the place that comes free and moves to its own.
      let i = dropLargest ? 4 : 0;
      sorted[i] = value;
      for (; i > 0 && sorted[i - 1] > sorted[i]; i--) swap(sorted, i - 1, i);
      for (; i < 4 && sorted[i] > sorted[i + 1]; i++) swap(sorted, i, i + 1);
      // Largest ones go as long as values come in below the median, smallest as long as they come in above.
      dropLargest = dropLargest ? value < middle : value <= middle;
    },
  };
}

function swap(values: number[], i: number, j: number): void {
  const kept = values[i];
  values[i] = values[j];
  values[j] = kept;
}
