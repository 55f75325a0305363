/**
 * A scratch array that is reused from call to call, because fresh memory costs more than the sums computed in it. An array
 * is valid until the next one is taken, and it contains old values.
 */
export class Scratch {
  #array = new Float64Array(0);

  take(length: number): Float64Array {
    if (this.#array.length < length) this.#array = new Float64Array(Math.max(1024, length + (length >> 2)));
    return this.#array.subarray(0, length);
  }
}
