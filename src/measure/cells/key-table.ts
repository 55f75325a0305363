/**
 * Open-addressing hash table from four 32-bit integers to a dense index (0, 1, 2 ... in order of arrival). Flat typed
 * arrays without an object for each key: a JS Map with keys of text is about three times slower here.
 */
export class KeyTable {
  #size = 0;
  #mask: number;
  /** Slot -> index + 1; 0 is free. */
  #slots: Int32Array;
  /** Four integers an index. */
  #keys: Int32Array;

  constructor(expected = 64) {
    let slots = 128;
    while (slots < expected * 2) slots *= 2;
    this.#slots = new Int32Array(slots);
    this.#mask = slots - 1;
    this.#keys = new Int32Array((slots / 2) * 4);
  }

  /** Number of keys. */
  get size(): number {
    return this.#size;
  }

  /** Removes all keys; the memory is kept for the next ones. */
  clear(): void {
    this.#slots.fill(0);
    this.#size = 0;
  }

  /** Part 0 to 3 of the key with this index. */
  part(index: number, which: number): number {
    return this.#keys[index * 4 + which];
  }

  /** Index of the key, or -1. */
  find(a: number, b: number, c: number, d: number): number {
    const keys = this.#keys;
    let slot = hash(a, b, c, d) & this.#mask;
    for (;;) {
      const held = this.#slots[slot];
      if (held === 0) return -1;
      const at = (held - 1) * 4;
      if (keys[at] === a && keys[at + 1] === b && keys[at + 2] === c && keys[at + 3] === d) return held - 1;
      slot = (slot + 1) & this.#mask;
    }
  }

  /** Index of the key, added if it is new (then it equals the former `size`). */
  add(a: number, b: number, c: number, d: number): number {
    const keys = this.#keys;
    let slot = hash(a, b, c, d) & this.#mask;
    for (;;) {
      const held = this.#slots[slot];
      if (held === 0) break;
      const at = (held - 1) * 4;
      if (keys[at] === a && keys[at + 1] === b && keys[at + 2] === c && keys[at + 3] === d) return held - 1;
      slot = (slot + 1) & this.#mask;
    }
    if ((this.#size + 1) * 2 > this.#slots.length) {
      this.#grow();
      return this.add(a, b, c, d);
    }
    const index = this.#size++;
    this.#slots[slot] = index + 1;
    const at = index * 4;
    keys[at] = a;
    keys[at + 1] = b;
    keys[at + 2] = c;
    keys[at + 3] = d;
    return index;
  }

  /** Indices sorted by key, part 0 first: the canonical order in which states are packed and read. */
  sorted(): Int32Array {
    const keys = this.#keys;
    const order = new Int32Array(this.#size);
    for (let i = 0; i < order.length; i++) order[i] = i;
    return order.sort((i, j) => {
      const p = i * 4;
      const q = j * 4;
      return keys[p] - keys[q] || keys[p + 1] - keys[q + 1] || keys[p + 2] - keys[q + 2] || keys[p + 3] - keys[q + 3];
    });
  }

  #grow(): void {
    const slots = new Int32Array(this.#slots.length * 2);
    const mask = slots.length - 1;
    const keys = new Int32Array(this.#keys.length * 2);
    keys.set(this.#keys);
    for (let i = 0; i < this.#size; i++) {
      let slot = hash(keys[i * 4], keys[i * 4 + 1], keys[i * 4 + 2], keys[i * 4 + 3]) & mask;
      while (slots[slot] !== 0) slot = (slot + 1) & mask;
      slots[slot] = i + 1;
    }
    this.#slots = slots;
    this.#mask = mask;
    this.#keys = keys;
  }
}

function hash(a: number, b: number, c: number, d: number): number {
  let h = Math.imul(a, 0x9e3779b1) ^ Math.imul(b, 0x85ebca6b) ^ Math.imul(c, 0xc2b2ae35) ^ Math.imul(d, 0x27d4eb2f);
  h ^= h >>> 15;
  h = Math.imul(h, 0x2c1b3c6d);
  return h ^ (h >>> 13);
}
