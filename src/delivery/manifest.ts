import { createHash } from 'node:crypto';
import { createReadStream } from 'node:fs';
import { stat } from 'node:fs/promises';
import { dirname, relative, resolve, sep } from 'node:path';
import { Fault, handlesFault } from '../fault.js';
import { type FoundCloud, isUrl } from './discover.js';
import { readTextFile } from './text-file.js';

/** One line of a checksum manifest: name and digest of a file when it was delivered. */
export interface ManifestEntry {
  /** As written, with `/`. */
  name: string;
  sha256: string;
}

/** Result of comparing one file with the manifest. */
export interface TransferredFile {
  name: string;
  state: 'same' | 'changed' | 'missing' | 'unreadable' | 'added';
  expected: string | null;
  found: string | null;
}

const LINE = /^(\\?)([0-9a-f]{64}) [ *](.+)$/i;

/**
 * Reads a manifest in the text form of sha256sum: 64 hexadecimal digits, a space, a space or an asterisk, the name. A
 * line that begins with a backslash has line breaks and backslashes in its name escaped (GNU coreutils manual, "md5sum
 * invocation").
 * @throws Fault `manifest-invalid` with the line, `manifest-empty`
 */
export function parseManifest(text: string, where: string): ManifestEntry[] {
  const entries: ManifestEntry[] = [];
  const seen = new Set<string>();
  text.split('\n').forEach((raw, i) => {
    const line = raw.replace(/\r$/, '');
    if (line.trim() === '' || line.startsWith('#')) return;
    const found = LINE.exec(line);
    if (!found) {
      throw new Fault({
        code: 'manifest-invalid',
        what: 'this is not a line of a SHA-256 manifest',
        where: `${where}, line ${i + 1}`,
        expected: '64 hexadecimal digits, two blanks, a file name',
        advice: 'Make the manifest with `cloudassay inspect DELIVERY --manifest FILE` or sha256sum',
      });
    }
    const name = found[1] ? unescaped(found[3]) : found[3];
    if (seen.has(name)) {
      throw new Fault({
        code: 'manifest-invalid',
        what: `the file ${name} is listed twice`,
        where: `${where}, line ${i + 1}`,
      });
    }
    seen.add(name);
    entries.push({ name: name.replace(/^\.\//, ''), sha256: found[2].toLowerCase() });
  });
  if (entries.length === 0) throw new Fault({ code: 'manifest-empty', what: 'the manifest lists no file', where });
  return entries;
}

function unescaped(name: string): string {
  return name.replace(/\\(n|r|\\)/g, (_, c: string) => (c === 'n' ? '\n' : c === 'r' ? '\r' : '\\'));
}

/** One line per entry, in the given order; names with line breaks or backslashes are escaped as sha256sum does. */
export function manifestText(entries: readonly ManifestEntry[]): string {
  return entries
    .map(({ name, sha256 }) => {
      const escaped = name.replaceAll('\\', '\\\\').replaceAll('\n', '\\n').replaceAll('\r', '\\r');
      return `${escaped === name ? '' : '\\'}${sha256}  ${escaped}\n`;
    })
    .join('');
}

/** SHA-256 of a file's bytes in lower-case hex, streamed: memory does not grow with the file. */
export async function fileDigest(path: string): Promise<string> {
  const hash = createHash('sha256');
  for await (const piece of createReadStream(path, { highWaterMark: 1 << 20 })) hash.update(piece as Buffer);
  return hash.digest('hex');
}

/** Entries for clouds, named relative to the manifest's folder. @throws Fault for a remote cloud or one outside that folder */
export async function makeManifest(clouds: readonly FoundCloud[], manifestPath: string): Promise<ManifestEntry[]> {
  const folder = dirname(resolve(manifestPath));
  const entries: ManifestEntry[] = [];
  for (const { address, name } of clouds) {
    if (isUrl(address)) {
      throw new Fault({
        code: 'manifest-remote',
        what: 'a manifest can only list files on this computer',
        where: name,
      });
    }
    entries.push({ name: relative(folder, address).split(sep).join('/'), sha256: await fileDigest(address) });
  }
  return entries;
}

/**
 * Compares the files received with the manifest. A listed name is searched for beside the manifest, then among the
 * delivered clouds by the end of its path. Other listed files (trajectories, reports) are compared too if they are found.
 */
export async function compareWithManifest(
  manifestPath: string,
  clouds: readonly FoundCloud[],
): Promise<TransferredFile[]> {
  const entries = parseManifest(await readTextFile(manifestPath, 'manifest'), manifestPath);
  const folder = dirname(resolve(manifestPath));
  const matched = new Set<string>();
  const files: TransferredFile[] = [];
  for (const { name, sha256 } of entries) {
    const address = await whereIs(name, folder, clouds);
    if (address !== null) matched.add(address);
    files.push(await compareOne(name, sha256, address));
  }
  for (const { address, name } of clouds) {
    if (!matched.has(address)) files.push({ name, state: 'added', expected: null, found: null });
  }
  return files;
}

async function whereIs(name: string, folder: string, clouds: readonly FoundCloud[]): Promise<string | null> {
  const beside = resolve(folder, name);
  const inside = beside.startsWith(folder.endsWith(sep) ? folder : folder + sep);
  if (inside && (await isFile(beside))) return beside;
  const exact = clouds.filter(({ address, name: short }) => endsAs(address, short, name));
  if (exact.length > 0) return exact.length === 1 ? exact[0].address : null;
  // Some file systems store accented letters in decomposed form.
  const alike = clouds.filter(({ address, name: short }) =>
    endsAs(address.normalize('NFC'), short.normalize('NFC'), name.normalize('NFC')),
  );
  return alike.length === 1 ? alike[0].address : null;
}

function endsAs(address: string, short: string, name: string): boolean {
  return short === name || address.split(sep).join('/').endsWith(`/${name}`);
}

async function isFile(path: string): Promise<boolean> {
  try {
    return (await stat(path)).isFile();
  } catch {
    return false;
  }
}

async function compareOne(name: string, expected: string, address: string | null): Promise<TransferredFile> {
  if (address === null) return { name, state: 'missing', expected, found: null };
  try {
    const found = await fileDigest(address);
    return { name, state: found === expected ? 'same' : 'changed', expected, found };
  } catch (error) {
    const handles = handlesFault(error);
    if (handles !== null) throw handles;
    return { name, state: 'unreadable', expected, found: null };
  }
}
