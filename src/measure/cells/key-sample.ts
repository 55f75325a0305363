/**
 * A bounded sample of keys, chosen by hash: at level k those whose 32-bit hash begins with k zero bits, one in 2^k of all.
 * Keys are whole numbers in 32 bits, `width` of them each, and are counted exactly as long as they stay in the sample.
 * When more than `most` different keys would be held, the level rises. A key that is ever dropped would have been dropped
 * at the end too, and one that stays was counted from the start: so level and counts depend on the keys alone, not on
 * their order or on how samples are merged.
 */
export class KeySample {
  readonly width: number;
  readonly most: number;
  #level: number;
  /** Hashes above this are not in the sample. */
  #top: number;
  #size = 0;
  #slots: Int32Array;
  #keys: Int32Array;
  #hashes: Uint32Array;
  /** First slot to try for each key: computed once and used again when the table grows. */
  #spots: Uint32Array;
  #counts: Float64Array;

  constructor(width: number, most: number, level: number) {
    this.width = width;
    this.most = most;
    this.#level = level;
    this.#top = topOf(level);
    this.#slots = new Int32Array(256);
    this.#keys = new Int32Array(128 * width);
    this.#hashes = new Uint32Array(128);
    this.#spots = new Uint32Array(128);
    this.#counts = new Float64Array(128);
  }

  get level(): number {
    return this.#level;
  }

  get size(): number {
    return this.#size;
  }

  /** Whether a key with this hash (unsigned) would be kept. Asking first saves building keys that would be dropped. */
  takes(hash: number): boolean {
    return hash <= this.#top;
  }

  /** Counts a key that the sample takes. `key` is read from `at` on. */
  add(hash: number, key: Int32Array, at: number, count: number): void {
    const spot = spotOf(hash, key, at, this.width);
    let slot = spot & (this.#slots.length - 1);
    for (;;) {
      const held = this.#slots[slot] - 1;
      if (held < 0) break;
      if (this.#hashes[held] === hash && this.#equals(held, key, at)) {
        this.#counts[held] += count;
        return;
      }
      slot = (slot + 1) & (this.#slots.length - 1);
    }
    if (this.#size === this.#hashes.length) {
      this.#grow();
      this.add(hash, key, at, count);
      return;
    }
    const index = this.#size++;
    this.#slots[slot] = index + 1;
    this.#hashes[index] = hash;
    this.#spots[index] = spot;
    this.#counts[index] = count;
    for (let k = 0; k < this.width; k++) this.#keys[index * this.width + k] = key[at + k];
    while (this.#size > this.most) this.raiseTo(this.#level + 1);
  }

  /** Raises the level to at least this one. */
  raiseTo(level: number): void {
    if (level <= this.#level) return;
    this.#level = level;
    this.#top = topOf(level);
    let kept = 0;
    for (let i = 0; i < this.#size; i++) {
      if (this.#hashes[i] > this.#top) continue;
      this.#hashes[kept] = this.#hashes[i];
      this.#spots[kept] = this.#spots[i];
      this.#counts[kept] = this.#counts[i];
      this.#keys.copyWithin(kept * this.width, i * this.width, (i + 1) * this.width);
      kept++;
    }
    this.#size = kept;
    this.#fill(this.#slots.fill(0));
  }

  part(index: number, which: number): number {
    return this.#keys[index * this.width + which];
  }

  hash(index: number): number {
    return this.#hashes[index];
  }

  count(index: number): number {
    return this.#counts[index];
  }

  /** Indices by hash, then key: the order in which samples are packed. Keys of equal hash are neighbours. */
  sorted(): Uint32Array {
    const order = sortByHash(this.#hashes.subarray(0, this.#size));
    for (let from = 0; from < order.length; ) {
      let to = from + 1;
      while (to < order.length && this.#hashes[order[to]] === this.#hashes[order[from]]) to++;
      if (to - from > 1) order.subarray(from, to).sort((i, j) => this.#compare(i, j));
      from = to;
    }
    return order;
  }

  #compare(i: number, j: number): number {
    for (let k = 0; k < this.width; k++) {
      const difference = this.part(i, k) - this.part(j, k);
      if (difference !== 0) return difference;
    }
    return 0;
  }

  #equals(index: number, key: Int32Array, at: number): boolean {
    const from = index * this.width;
    for (let k = 0; k < this.width; k++) if (this.#keys[from + k] !== key[at + k]) return false;
    return true;
  }

  #grow(): void {
    const room = this.#hashes.length * 2;
    const keys = new Int32Array(room * this.width);
    keys.set(this.#keys);
    this.#keys = keys;
    const hashes = new Uint32Array(room);
    hashes.set(this.#hashes);
    this.#hashes = hashes;
    const spots = new Uint32Array(room);
    spots.set(this.#spots);
    this.#spots = spots;
    const counts = new Float64Array(room);
    counts.set(this.#counts);
    this.#counts = counts;
    this.#slots = new Int32Array(room * 2);
    this.#fill(this.#slots);
  }

  #fill(slots: Int32Array): void {
    for (let i = 0; i < this.#size; i++) {
      let slot = this.#spots[i] & (slots.length - 1);
      while (slots[slot] !== 0) slot = (slot + 1) & (slots.length - 1);
      slots[slot] = i + 1;
    }
  }
}

function topOf(level: number): number {
  return level >= 32 ? 0 : 2 ** (32 - level) - 1;
}

/** First slot of a key. The hash is mixed again, because in a sample of a high level all hashes are small. */
function spotOf(hash: number, key: Int32Array, at: number, width: number): number {
  let h = hash;
  for (let k = 0; k < width; k++) {
    h = Math.imul(h ^ key[at + k], 0x9e3779b1);
    h ^= h >>> 15;
  }
  h = Math.imul(h ^ (h >>> 16), 0x85ebca6b);
  return (h ^ (h >>> 13)) >>> 0;
}

/** Indices sorted by unsigned 32-bit hash: a radix sort of two rounds with 65,536 buckets, the second of which keeps the order of the first. */
function sortByHash(hashes: Uint32Array): Uint32Array {
  let order = Uint32Array.from(hashes.keys());
  if (hashes.length < 4096) return order.sort((i, j) => hashes[i] - hashes[j]);
  for (const shift of [0, 16]) {
    const starts = new Uint32Array(65_537);
    for (const hash of hashes) starts[((hash >>> shift) & 0xffff) + 1]++;
    for (let heap = 1; heap <= 65_536; heap++) starts[heap] += starts[heap - 1];
    const next = new Uint32Array(order.length);
    for (let k = 0; k < order.length; k++) next[starts[(hashes[order[k]] >>> shift) & 0xffff]++] = order[k];
    order = next;
  }
  return order;
}
