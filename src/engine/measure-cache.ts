import { createHash, randomBytes } from 'node:crypto';
import { mkdir, readFile, rename, rm, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { toolVersion } from '../built.js';
import { isUrl } from '../delivery/discover.js';
import { fileDigest } from '../delivery/manifest.js';
import { Fault } from '../fault.js';
import { measurementById } from '../measure/index.js';
import { canonicalJson } from './fact-key.js';
import type { Assignment } from './job.js';

const MAGIC = 'cloudassay measured 1\n';
const DIGEST_BYTES = 32;

/**
 * The states of measured files, kept in a folder between runs. An entry is used only for the same bytes of the file, at the
 * same place in the delivery, measured in the same way by the same version, and only if its own digest is right. A verdict
 * from the cache is therefore the verdict of a full run.
 */
export class MeasureCache {
  readonly #folder: string;
  readonly #manner: string;
  readonly #assignment: Assignment;

  /** @throws Fault `cache-folder` when the folder cannot be made. */
  static async open(folder: string, assignment: Assignment): Promise<MeasureCache> {
    try {
      await mkdir(folder, { recursive: true });
    } catch (error) {
      throw new Fault({ code: 'cache-folder', where: folder, what: 'the folder for the cache cannot be made' }, error);
    }
    return new MeasureCache(folder, assignment);
  }

  private constructor(folder: string, assignment: Assignment) {
    this.#folder = folder;
    this.#assignment = assignment;
    const kinds = assignment.measurements.map(({ id, params }) => ({
      id,
      params,
      version: measurementById(id).version,
    }));
    const passes = assignment.passes.by === 'gps-time-gap' ? [...assignment.passes.starts] : assignment.passes.by;
    this.#manner = canonicalJson({ tool: toolVersion(), kinds, columns: assignment.columns, passes });
  }

  /** Key of the entry of a file; null for a remote file, whose content is not read twice. */
  async keyOf(file: number): Promise<string | null> {
    const { address, planUnit, heightUnit } = this.#assignment.files[file];
    if (isUrl(address)) return null;
    const content = await fileDigest(address);
    return createHash('sha256')
      .update(canonicalJson({ content, file, planUnit, heightUnit, manner: this.#manner }))
      .digest('hex');
  }

  /** Packed states in the order of the measurements, and the boxes of the spans; null when there is no entry or it is damaged. */
  async read(key: string): Promise<ArrayBuffer[] | null> {
    let bytes: Buffer;
    try {
      bytes = await readFile(this.#path(key));
    } catch {
      return null;
    }
    return unpackEntry(bytes, this.#assignment.measurements.length + 1);
  }

  /** Writes an entry. Where it cannot be written the next run measures the file again. */
  async write(key: string, states: readonly ArrayBuffer[]): Promise<void> {
    const path = this.#path(key);
    const draft = `${path}.tmp-${randomBytes(4).toString('hex')}`;
    try {
      await writeFile(draft, packEntry(states));
      await rename(draft, path);
    } catch {
      await rm(draft, { force: true });
    }
  }

  #path(key: string): string {
    return join(this.#folder, `${key}.measured`);
  }
}

/** Magic text, digest of the rest, number of states, their lengths, the states. */
function packEntry(states: readonly ArrayBuffer[]): Buffer {
  const lengths = new Float64Array([states.length, ...states.map((state) => state.byteLength)]);
  const body = Buffer.concat([Buffer.from(lengths.buffer), ...states.map((state) => Buffer.from(state))]);
  return Buffer.concat([Buffer.from(MAGIC), createHash('sha256').update(body).digest(), body]);
}

function unpackEntry(bytes: Buffer, count: number): ArrayBuffer[] | null {
  const start = MAGIC.length + DIGEST_BYTES;
  if (bytes.length < start + 8 || bytes.toString('latin1', 0, MAGIC.length) !== MAGIC) return null;
  const body = bytes.subarray(start);
  if (!createHash('sha256').update(body).digest().equals(bytes.subarray(MAGIC.length, start))) return null;
  if (body.readDoubleLE(0) !== count) return null;
  const states: ArrayBuffer[] = [];
  let at = 8 * (1 + count);
  for (let i = 0; i < count; i++) {
    const length = body.readDoubleLE(8 + 8 * i);
    // A copy, because packed states are read through typed arrays, which must start at an aligned address.
    states.push(Uint8Array.from(body.subarray(at, at + length)).buffer);
    at += length;
  }
  return states;
}
