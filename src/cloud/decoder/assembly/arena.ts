/*
 * Memory of the decoder: [static data][kept: templates][columns][input: one chunk][models of the chunk ...].
 * Nothing is ever freed singly; opening another point layout or beginning another chunk sets a mark back.
 */

const PAGE: usize = 65536;
/** Room for the templates of every alphabet in use. */
const KEPT_BYTES: usize = 64 * 1024;

export class Arena {
  /** End of what is kept for good. */
  static kept: usize = (__heap_base + 15) & ~15;
  /** First address that may be handed out next. */
  static top: usize = 0;
  /** First address that does not exist. */
  static end: usize = 0;

  /** Where everything begins that depends on the open point layout. */
  static base(): usize {
    return ((__heap_base + 15) & ~15) + KEPT_BYTES;
  }

  /** Memory that stays as it is, for templates. */
  static keep(bytes: usize): usize {
    const block = Arena.kept;
    Arena.kept = (block + bytes + 15) & ~15;
    return block;
  }

  /** Memory until the mark is set back. Grows the memory when needed; a machine that refuses traps, which the host hears. */
  static take(bytes: usize): usize {
    const block = Arena.top;
    const top = (block + bytes + 15) & ~15;
    if (top > Arena.end) Arena.reach(top);
    Arena.top = top;
    return block;
  }

  static reach(top: usize): void {
    const have = <usize>memory.size() * PAGE;
    if (top > have) {
      // Some more than asked for, since every growth makes the host set up its views again.
      const pages = <i32>((top - have + PAGE - 1) / PAGE) + 16;
      if (memory.grow(pages) < 0) unreachable();
    }
    Arena.end = <usize>memory.size() * PAGE;
  }
}
