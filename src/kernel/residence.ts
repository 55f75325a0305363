/**
 * Something of which there is one in a thread, for it lies in the memory that the loops reach: lent to one user at a time.
 * Whoever comes second does without, and is only slower.
 */
export class Residence<T> {
  readonly #make: () => T;
  #thing: T | null = null;
  #lent = false;

  /** @param make called at the first loan */
  constructor(make: () => T) {
    this.#make = make;
  }

  /** Null while another has it. */
  lend(): T | null {
    if (this.#lent) return null;
    this.#thing ??= this.#make();
    this.#lent = true;
    return this.#thing;
  }

  /** Takes it back; anything else is left alone. */
  giveBack(thing: T | null): void {
    if (thing !== null && thing === this.#thing) this.#lent = false;
  }
}
