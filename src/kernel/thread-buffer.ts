/**
 * Something of which there is one in a thread, for it lies in the memory that the loops reach: lent to one user at a time.
 * Whoever comes second does without, and is only slower.
 */
export class ThreadBuffer<T> {
  readonly #make: () => T;
  #buffer: T | null = null;
  #inUse = false;

  /** @param make called at the first loan */
  constructor(make: () => T) {
    this.#make = make;
  }

  /** Null while another has it. */
  acquire(): T | null {
    if (this.#inUse) return null;
    this.#buffer ??= this.#make();
    this.#inUse = true;
    return this.#buffer;
  }

  /** Takes it back; anything else is left alone. */
  release(thing: T | null): void {
    if (thing !== null && thing === this.#buffer) this.#inUse = false;
  }
}
