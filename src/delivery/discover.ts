import type { Stats } from 'node:fs';
import { readdir, realpath, stat } from 'node:fs/promises';
import { dirname, join, relative, resolve, sep } from 'node:path';
import { fileURLToPath } from 'node:url';
import { Fault, handlesFault } from '../fault.js';
import { isPattern, patternMatcher, patternRoot } from './glob.js';

/** A cloud of the delivery, not opened yet. */
export interface FoundCloud {
  /** Absolute path, or URL. */
  address: string;
  /** Path relative to the folder common to all files, with `/`; or the URL without user, password and query. */
  name: string;
}

const CLOUD_ENDING = /\.la[sz]$/i;
const URL_SCHEME = /^([a-z][a-z0-9+.-]+):\/\//i;

/**
 * Finds the clouds of a delivery: files (of any name), folders (all .las and .laz files below, in upper or lower case),
 * patterns with `*`, `**`, `?`, and http(s) or s3 URLs. Hidden files and folders are ignored. A file given twice, even by
 * different paths, is listed once. The list is sorted by the bytes of the names, so that the order of `inputs` and of the
 * file system does not matter.
 *
 * @param showQueries names of URLs keep their query, which may hold keys
 * @throws Fault `delivery-nothing-given`, `delivery-missing`, `delivery-unreadable`, `delivery-empty-folder`,
 * `delivery-no-match`, `delivery-not-a-file`, `delivery-scheme`
 */
export async function discoverClouds(inputs: readonly string[], showQueries = false): Promise<FoundCloud[]> {
  if (inputs.length === 0) {
    const advice = 'Give files, folders, patterns or URLs of LAS, LAZ or COPC clouds';
    throw new Fault({ code: 'delivery-nothing-given', what: 'no point cloud was given', where: 'delivery', advice });
  }
  const urls = new Set<string>();
  const paths = new Set<string>();
  for (const input of inputs) {
    const scheme = URL_SCHEME.exec(input)?.[1].toLowerCase();
    if (scheme === 'http' || scheme === 'https' || scheme === 's3') urls.add(input);
    else for (const path of await localFiles(scheme ? fromFileUrl(input, scheme) : input)) paths.add(path);
  }
  const files = await withoutDoubles([...paths].sort(byBytes));
  const root = commonFolder(files);
  const found = files.map((address) => ({ address, name: slashed(relative(root, address)) }));
  return [...found, ...namedUrls([...urls], showQueries)].sort(
    (a, b) => byBytes(a.name, b.name) || byBytes(a.address, b.address),
  );
}

/** Whether an address is a URL, not a path. */
export function isUrl(address: string): boolean {
  return URL_SCHEME.test(address);
}

/** Orders texts by the bytes of their UTF-8 form, the same on every machine and in every language. */
export function byBytes(a: string, b: string): number {
  return Buffer.compare(Buffer.from(a), Buffer.from(b));
}

async function localFiles(input: string): Promise<string[]> {
  const path = resolve(input);
  const facts = await statOrNull(path);
  if (facts?.isDirectory()) {
    const files = await walk(path);
    if (files.length > 0) return files;
    const advice = 'Give another folder, or the files themselves if they have another extension';
    const what = 'the folder and its subfolders contain no .las or .laz file';
    throw new Fault({ code: 'delivery-empty-folder', what, where: input, advice });
  }
  // A file of exactly this name takes precedence over a pattern.
  if (facts?.isFile()) return [path];
  if (facts)
    throw new Fault({ code: 'delivery-not-a-file', what: 'this is neither a file nor a folder', where: input });
  if (isPattern(input)) return matchingFiles(input);
  const advice = 'Check the spelling and the current folder';
  throw new Fault({ code: 'delivery-missing', what: 'there is no such file or folder', where: input, advice });
}

async function matchingFiles(input: string): Promise<string[]> {
  const pattern = slashed(input);
  const root = patternRoot(pattern);
  const base = resolve(root);
  const rest = pattern.slice(root.length).replace(/^\/+/, '').replace(/\/+$/, '');
  const fits = patternMatcher(rest);
  // "tiles/*" matches only clouds; "tiles/*.bin" matches exactly these files.
  const ending = /\.[^*?./]+$/.test(rest);
  const maxDepth = rest.split('/').includes('**') ? Number.POSITIVE_INFINITY : rest.split('/').length;
  const files: string[] = [];
  if ((await statOrNull(base))?.isDirectory()) {
    const visit = async (folder: string, depth: number, above: ReadonlySet<string>): Promise<void> => {
      const here = await realpath(folder);
      if (above.has(here)) return;
      for (const entry of await entriesOf(folder)) {
        const path = join(folder, entry);
        const matches = fits(slashed(relative(base, path)));
        const facts = await statOrNull(path);
        if (facts?.isDirectory()) {
          if (matches && !ending) for (const file of await walk(path)) files.push(file);
          if (depth < maxDepth && !entry.startsWith('.')) await visit(path, depth + 1, new Set([...above, here]));
        } else if (matches && (isCloudEntry(facts, entry) || (ending && facts?.isFile()))) files.push(path);
      }
    };
    await visit(base, 1, new Set());
  }
  if (files.length > 0) return files;
  const advice =
    'Check the spelling, including upper and lower case; * and ? match within one folder, ** matches any number of folders';
  throw new Fault({ code: 'delivery-no-match', what: 'no cloud matches this pattern', where: input, advice });
}

/** All clouds below a folder. Symbolic links are followed, but not in a cycle. */
async function walk(folder: string, above: ReadonlySet<string> = new Set()): Promise<string[]> {
  const here = await realpath(folder);
  if (above.has(here)) return [];
  const inside = new Set([...above, here]);
  const files: string[] = [];
  for (const entry of await entriesOf(folder)) {
    // Hidden files, such as "._tile.las", which some operating systems write beside "tile.las".
    if (entry.startsWith('.')) continue;
    const path = join(folder, entry);
    const facts = await statOrNull(path);
    if (facts?.isDirectory()) for (const file of await walk(path, inside)) files.push(file);
    else if (isCloudEntry(facts, entry)) files.push(path);
  }
  return files;
}

/** A broken symbolic link counts too, so that it is reported as unreadable instead of being ignored. */
function isCloudEntry(facts: Stats | null, entry: string): boolean {
  return CLOUD_ENDING.test(entry) && (facts === null || facts.isFile());
}

async function entriesOf(folder: string): Promise<string[]> {
  try {
    return await readdir(folder);
  } catch (error) {
    throw unreadable(folder, error);
  }
}

async function statOrNull(path: string): Promise<Stats | null> {
  try {
    return await stat(path);
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code ?? '';
    if (['ENOENT', 'ENOTDIR', 'ELOOP', 'EINVAL', 'ENAMETOOLONG'].includes(code)) return null;
    throw unreadable(path, error);
  }
}

function unreadable(path: string, error: unknown): Fault {
  const handles = handlesFault(error);
  if (handles !== null) return handles;
  const reason = (error as NodeJS.ErrnoException).code ?? String(error);
  const what = `the folder or file cannot be read (${reason})`;
  return new Fault({ code: 'delivery-unreadable', what, where: path, advice: 'Check the access rights' }, error);
}

function fromFileUrl(input: string, scheme: string): string {
  if (scheme === 'file') return fileURLToPath(input);
  const what = `addresses of the kind ${scheme}:// cannot be read`;
  const advice = 'Give a path, or an http, https or s3 address';
  throw new Fault({ code: 'delivery-scheme', what, where: shownUrl(input, false), advice });
}

/** Keeps the first of several paths of the same file; `paths` are sorted, so that it is always the same one. */
async function withoutDoubles(paths: readonly string[]): Promise<string[]> {
  const seen = new Set<string>();
  const kept: string[] = [];
  for (const path of paths) {
    const real = await realpath(path).catch(() => path);
    if (seen.has(real)) continue;
    seen.add(real);
    kept.push(path);
  }
  return kept;
}

function commonFolder(files: readonly string[]): string {
  if (files.length === 0) return sep;
  let common = dirname(files[0]).split(sep);
  for (const file of files) {
    const parts = dirname(file).split(sep);
    let same = 0;
    while (same < common.length && common[same] === parts[same]) same++;
    common = common.slice(0, same);
  }
  return common.join(sep) || sep;
}

function slashed(path: string): string {
  return sep === '\\' ? path.replaceAll('\\', '/') : path;
}

function namedUrls(urls: readonly string[], withQuery: boolean): FoundCloud[] {
  const counts = new Map<string, number>();
  return [...urls].sort(byBytes).map((address) => {
    const plain = shownUrl(address, withQuery);
    const count = (counts.get(plain) ?? 0) + 1;
    counts.set(plain, count);
    return { address, name: count === 1 ? plain : `${plain} (${count})` };
  });
}

/** Any part of a query may be a key, whatever its name: none is shown unless it is asked for. */
function shownUrl(address: string, withQuery: boolean): string {
  const [front, query] = address.split('#')[0].split(/\?(.*)/s);
  const plain = front.replace(/^([a-z0-9+.-]+:\/\/)[^/@]*@/i, '$1');
  return withQuery && query ? `${plain}?${query}` : plain;
}
