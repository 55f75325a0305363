/**
 * Working space that is kept from call to call: memory that is fresh costs more than the sums done in it. What is taken
 * holds until the next is taken, and is full of old numbers.
 */
export class Scratch {
  #array = new Float64Array(0);

  take(length: number): Float64Array {
    if (this.#array.length < length) this.#array = new Float64Array(Math.max(1024, length + (length >> 2)));
    return this.#array.subarray(0, length);
  }
}
