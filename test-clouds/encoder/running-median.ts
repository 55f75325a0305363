/** Median of about the last five values: a new one takes the place of the largest or, in turn, of the smallest. */
export interface RunningMedian {
  value(): number;
  add(value: number): void;
}

export function createRunningMedian(): RunningMedian {
  let sorted = [0, 0, 0, 0, 0];
  let dropLargest = true;
  return {
    value: () => sorted[2],
    add(value) {
      const middle = sorted[2];
      const four = dropLargest ? sorted.slice(0, 4) : sorted.slice(1);
      sorted = [...four, value].sort((a, b) => a - b);
      // Largest ones go as long as values come in below the median, smallest as long as they come in above.
      dropLargest = dropLargest ? value < middle : value <= middle;
    },
  };
}
