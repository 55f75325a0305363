/** What a header says of the bytes behind it: whose state they are, in which version, and some counts. */
export interface PackedHeader {
  /** Id of the measurement. */
  id: string;
  /** Version of the packed state; the measurement gives the same number as its own version. */
  version: number;
}

const INTRODUCTION = 2;

/** Bytes of a header with `counts` counts. A multiple of 8, so that numbers of 64 bits can follow it. */
export function headerBytes(counts: number): number {
  return Math.ceil(((INTRODUCTION + counts) * 4) / 8) * 8;
}

/**
 * Writes a header at the beginning of `buffer`: a hash of the id, the version, the counts.
 * @param counts whole numbers of 32 bits with sign
 */
export function writeHeader(buffer: ArrayBuffer, { id, version }: PackedHeader, counts: readonly number[]): void {
  const words = new Int32Array(buffer, 0, INTRODUCTION + counts.length);
  words[0] = hashOf(id);
  words[1] = version;
  words.set(counts, INTRODUCTION);
}

/**
 * Reads the counts of a header: a view of `packed`, as many as asked for.
 * @throws RangeError where the bytes are the state of another measurement or of another version
 */
export function readHeader(packed: ArrayBuffer, { id, version }: PackedHeader, counts: number): Int32Array {
  const short = packed.byteLength < headerBytes(counts);
  const words = short ? new Int32Array(INTRODUCTION) : new Int32Array(packed, 0, INTRODUCTION + counts);
  if (short || words[0] !== hashOf(id) || words[1] !== version)
    throw new RangeError(`these bytes are not a packed state of ${id}, version ${version}`);
  return words.subarray(INTRODUCTION);
}

/** FNV-1a, 32 bits: a different number for each id, so that no measurement has to choose one (tests compare all ids). */
function hashOf(id: string): number {
  let hash = 0x811c9dc5;
  for (let i = 0; i < id.length; i++) hash = Math.imul(hash ^ id.charCodeAt(i), 0x01000193);
  return hash | 0;
}
