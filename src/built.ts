import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

/**
 * The one module that knows where the parts of the package are. Sources, the build and an installed package all lie
 * below the folder that holds package.json, so that folder is looked for first and every part is named from there.
 */

interface Package {
  /** Address of the folder that holds package.json; ends with a slash. */
  root: URL;
  version: string;
}

let found: Package | undefined;

/** A part of the package is missing. That is never the fault of a delivery. */
export class MissingPart extends Error {
  constructor(part: string, cause?: unknown) {
    super(`${part} is missing in this installation of cloudassay; install it again (in its repository: npm ci)`, {
      cause,
    });
  }
}

/** Version in package.json. Throws MissingPart. */
export function toolVersion(): string {
  return thisPackage().version;
}

/** Path of the compiled worker thread. Throws MissingPart. */
export function workerFile(): string {
  return existing('dist/worker.js');
}

/** Path of the compiled thread in which a long command runs. Throws MissingPart. */
export function commandThreadFile(): string {
  return existing('dist/command-thread.js');
}

/** Folder of the specs that come with the program; ends with a slash. Throws MissingPart. */
export function specsFolder(): string {
  return existing('specs/');
}

/** The viewer of the report as one script for a browser. Throws MissingPart. */
export function builtViewer(): string {
  return readPart('dist/viewer.js').toString('utf8');
}

/** Machine code of a WebAssembly module, by its name without ending: laz, loops, voxels. Throws MissingPart. */
export function builtWasm(name: string): Uint8Array {
  return readPart(`dist/${name}.wasm`);
}

function readPart(path: string): Buffer {
  try {
    return readFileSync(pathOf(path));
  } catch (error) {
    throw error instanceof MissingPart ? error : new MissingPart(path, error);
  }
}

function existing(path: string): string {
  const whole = pathOf(path);
  if (!existsSync(whole)) throw new MissingPart(path);
  return whole;
}

function pathOf(path: string): string {
  return fileURLToPath(new URL(path, thisPackage().root));
}

function thisPackage(): Package {
  found ??= packageAbove(import.meta.url);
  return found;
}

/**
 * The package that a file of cloudassay belongs to.
 * @param file address of the file
 * @throws MissingPart when no folder above the file holds the package.json of cloudassay
 */
export function packageAbove(file: string): Package {
  for (let folder = new URL('./', file); ; ) {
    const version = versionIn(folder);
    if (version !== null) return { root: folder, version };
    const above = new URL('../', folder);
    if (above.href === folder.href) throw new MissingPart('package.json');
    folder = above;
  }
}

/** Version of cloudassay when its package.json is in this folder. */
function versionIn(folder: URL): string | null {
  let text: string;
  try {
    text = readFileSync(new URL('package.json', folder), 'utf8');
  } catch {
    return null;
  }
  const { name, version } = JSON.parse(text) as { name?: string; version?: string };
  return name === 'cloudassay' && version ? version : null;
}
