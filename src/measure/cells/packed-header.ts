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
 * Writes a header at the beginning of `buffer`: a hash of the id, the version, the counts, the settings. It takes
 * `headerBytes(counts.length + settings.length)`.
 * @param counts whole numbers of 32 bits with sign
 * @param settings the same; what states to be merged must have in common, such as the edge of a cell
 */
export function writeHeader(
  buffer: ArrayBuffer,
  { id, version }: PackedHeader,
  counts: readonly number[],
  settings: readonly number[] = [],
): void {
  const words = new Int32Array(buffer, 0, INTRODUCTION + counts.length + settings.length);
  words[0] = hashOf(id);
  words[1] = version;
  words.set(counts, INTRODUCTION);
  words.set(settings, INTRODUCTION + counts.length);
}

/**
 * Reads the counts of a header: a view of `packed`, as many as asked for.
 * @param settings those of the state that the bytes are to be merged into
 * @throws RangeError where the bytes are the state of another measurement, of another version or of other settings
 */
export function readHeader(
  packed: ArrayBuffer,
  { id, version }: PackedHeader,
  counts: number,
  settings: readonly number[] = [],
): Int32Array {
  const length = INTRODUCTION + counts + settings.length;
  const short = packed.byteLength < headerBytes(counts + settings.length);
  const words = short ? new Int32Array(INTRODUCTION) : new Int32Array(packed, 0, length);
  if (short || words[0] !== hashOf(id) || words[1] !== version)
    throw new RangeError(`these bytes are not a packed state of ${id}, version ${version}`);
  if (settings.some((value, k) => value !== words[INTRODUCTION + counts + k]))
    throw new RangeError(`this state of ${id} was measured with other parameters`);
  return words.subarray(INTRODUCTION, INTRODUCTION + counts);
}

/** FNV-1a, 32 bits: a different number for each id, so that no measurement has to choose one (tests compare all ids). */
function hashOf(id: string): number {
  let hash = 0x811c9dc5;
  for (let i = 0; i < id.length; i++) hash = Math.imul(hash ^ id.charCodeAt(i), 0x01000193);
  return hash | 0;
}
