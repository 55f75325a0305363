/** Arrays that all threads read from shared memory; the digest of their content stands for them wherever they are named. */
interface SharedData {
  digest: string;
  shared: unknown;
}

/** Whether a value is data in shared memory, such as the track of the vehicle. */
export function isSharedData(value: object): value is SharedData {
  return 'digest' in value && 'shared' in value && typeof value.digest === 'string';
}

/** A copy of plain data in which a number stands for the arrays of shared data; `taken` gets the arrays, once by digest. */
export function takeShared(value: unknown, taken: unknown[], known = new Map<string, number>()): unknown {
  if (Array.isArray(value)) return value.map((part) => takeShared(part, taken, known));
  if (!isPlain(value)) return value;
  if (!isSharedData(value))
    return Object.fromEntries(Object.entries(value).map(([name, part]) => [name, takeShared(part, taken, known)]));
  const place = known.get(value.digest) ?? taken.push(value.shared) - 1;
  known.set(value.digest, place);
  return { ...value, shared: place };
}

/** Puts the arrays back into what `takeShared` returned; the value is changed. */
export function putShared<T>(value: T, taken: readonly unknown[]): T {
  if (taken.length === 0) return value;
  if (Array.isArray(value)) for (const part of value) putShared(part, taken);
  else if (isPlain(value)) {
    if (isSharedData(value)) value.shared = taken[value.shared as number];
    else for (const part of Object.values(value)) putShared(part, taken);
  }
  return value;
}

function isPlain(value: unknown): value is object {
  return value !== null && typeof value === 'object' && Object.getPrototypeOf(value) === Object.prototype;
}
