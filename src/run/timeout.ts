/** Milliseconds of a time in seconds; undefined for undefined. */
export function milliseconds(seconds: number | undefined): number | undefined {
  return seconds === undefined ? undefined : seconds * 1000;
}
