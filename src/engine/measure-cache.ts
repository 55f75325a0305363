import { createHash } from 'node:crypto';
import { readFile, rename, rm, stat, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { toolVersion } from '../built.js';
import { identityOf } from '../cloud/source.js';
import { isUrl } from '../delivery/discover.js';
import { fileDigest } from '../delivery/manifest.js';
import { Fault } from '../fault.js';
import { makeFolder } from '../folder.js';
import { measurementById } from '../measure/index.js';
import { beginDraft, endDraft, removeStaleDrafts } from '../temporary-files.js';
import { canonicalJson } from './fact-key.js';
import type { Assignment } from './job.js';

const MAGIC = 'cloudassay measured 2\n';
/** A key in hexadecimal digits, as it is stored in its entry. */
const KEY_BYTES = 64;
const DIGEST_BYTES = 32;

/**
 * The states of measured files, kept in a folder between runs. An entry is used only for the same bytes of the file, at the
 * same place in the delivery, measured in the same way by the same version, and only if it holds its own key and digest. A
 * verdict from the cache is therefore the verdict of a full run.
 */
export class MeasureCache {
  readonly #folder: string;
  readonly #manner: string;
  readonly #assignment: Assignment;
  /** By key: the file, and its state when its bytes were digested. */
  readonly #digested = new Map<string, { address: string; state: string }>();

  /** @throws Fault `cache-folder` when the folder cannot be made. */
  static async open(folder: string, assignment: Assignment): Promise<MeasureCache> {
    try {
      await makeFolder(folder);
    } catch (error) {
      throw new Fault({ code: 'cache-folder', where: folder, what: 'the folder for the cache cannot be made' }, error);
    }
    await removeStaleDrafts(folder);
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
    const { by, starts, sections } = assignment.passes;
    const passes = { by, starts: starts ? [...starts] : null, ...(sections ? { sections: listed(sections) } : {}) };
    this.#manner = canonicalJson({ tool: toolVersion(), kinds, columns: assignment.columns, passes });
  }

  /**
   * Key of the entry of a file; null for a remote file, whose content is not read twice, and for a file that cannot be read
   * or is not the one whose header was read.
   */
  async keyOf(file: number): Promise<string | null> {
    const { address, identity, horizontalUnit, heightUnit } = this.#assignment.files[file];
    if (isUrl(address)) return null;
    try {
      const state = await stateOf(address);
      if (identity !== undefined && identity !== (await identityOf(address))) return null;
      const content = await fileDigest(address);
      if ((await stateOf(address)) !== state) return null;
      const key = createHash('sha256')
        .update(canonicalJson({ content, file, horizontalUnit, heightUnit, manner: this.#manner }))
        .digest('hex');
      this.#digested.set(key, { address, state });
      return key;
    } catch {
      // Measuring the file finds out what is wrong with it, and says so.
      return null;
    }
  }

  /** Packed states in the order of the measurements, and the boxes of the spans; null when there is no entry, or it is damaged or another one's. */
  async read(key: string): Promise<ArrayBuffer[] | null> {
    let bytes: Buffer;
    try {
      bytes = await readFile(this.#path(key));
    } catch {
      return null;
    }
    return unpackEntry(bytes, key, this.#assignment.measurements.length + 1);
  }

  /**
   * Writes an entry, unless the file was touched since its bytes were digested: then other bytes may have been measured.
   * Where no entry is written the next run measures the file again.
   */
  async write(key: string, states: readonly ArrayBuffer[]): Promise<void> {
    const digested = this.#digested.get(key);
    if (digested === undefined || (await stateOf(digested.address).catch(() => null)) !== digested.state) return;
    const path = this.#path(key);
    const draft = beginDraft(path);
    try {
      await writeFile(draft, packEntry(key, states));
      await rename(draft, path);
    } catch {
      await rm(draft, { force: true });
    } finally {
      endDraft(draft);
    }
  }

  #path(key: string): string {
    return join(this.#folder, `${key}.measured`);
  }
}

/** The sections of drives as plain lists, for a key. */
function listed({ starts, values }: NonNullable<Assignment['passes']['sections']>) {
  return { starts: [...starts].map(String), values: [...values] };
}

/**
 * Everything that the system changes when a file is written to, also where a program puts the time of modification back:
 * the time of the last change of any kind is among it.
 */
async function stateOf(path: string): Promise<string> {
  const { dev, ino, size, mtimeNs, ctimeNs } = await stat(path, { bigint: true });
  return [dev, ino, size, mtimeNs, ctimeNs].join(' ');
}

/** Magic text, digest of the rest, key, number of states, their lengths, the states. */
function packEntry(key: string, states: readonly ArrayBuffer[]): Buffer {
  const lengths = new Float64Array([states.length, ...states.map((state) => state.byteLength)]);
  const parts = [Buffer.from(lengths.buffer), ...states.map((state) => Buffer.from(state))];
  const body = Buffer.concat([Buffer.from(key, 'latin1'), ...parts]);
  return Buffer.concat([Buffer.from(MAGIC), createHash('sha256').update(body).digest(), body]);
}

function unpackEntry(bytes: Buffer, key: string, count: number): ArrayBuffer[] | null {
  const start = MAGIC.length + DIGEST_BYTES;
  if (bytes.length < start + KEY_BYTES + 8 || bytes.toString('latin1', 0, MAGIC.length) !== MAGIC) return null;
  const signed = bytes.subarray(start);
  if (!createHash('sha256').update(signed).digest().equals(bytes.subarray(MAGIC.length, start))) return null;
  if (signed.toString('latin1', 0, KEY_BYTES) !== key) return null;
  const body = signed.subarray(KEY_BYTES);
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
