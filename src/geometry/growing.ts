/** Numbers, one after the other, without an end that is known. */
export class Growing {
  values = new Float64Array(64);
  count = 0;

  push(value: number): void {
    if (this.count === this.values.length) {
      const more = new Float64Array(2 * this.count);
      more.set(this.values);
      this.values = more;
    }
    this.values[this.count++] = value;
  }

  /** What there is, where it is. */
  all(): Float64Array {
    return this.values.subarray(0, this.count);
  }
}
