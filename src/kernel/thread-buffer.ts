/**
 * A buffer of which each thread has one, because it is in the loops' memory. One user at a time can have it; another user
 * gets null and works in its own memory, which is slower.
 */
export class ThreadBuffer<T> {
  readonly #make: () => T;
  #buffer: T | null = null;
  #inUse = false;

  /** @param make makes the buffer; called at the first `acquire` */
  constructor(make: () => T) {
    this.#make = make;
  }

  /** The buffer, or null while another user has it. */
  acquire(): T | null {
    if (this.#inUse) return null;
    this.#buffer ??= this.#make();
    this.#inUse = true;
    return this.#buffer;
  }

  /** Makes the buffer available again; any other argument is ignored. */
  release(thing: T | null): void {
    if (thing !== null && thing === this.#buffer) this.#inUse = false;
  }
}
