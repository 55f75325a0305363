import { mkdir, stat } from 'node:fs/promises';
import { dirname, resolve } from 'node:path';

/**
 * Makes a folder and those above it, one by one: Node.js tries for ever where the system keeps saying that one is missing,
 * as it does below /proc.
 * @throws the error of the system, ENOTDIR where a file has the name of a folder
 */
export async function makeFolder(folder: string): Promise<void> {
  const path = resolve(folder);
  if (await exists(path)) {
    if (!(await stat(path)).isDirectory()) throw Object.assign(new Error('no folder'), { code: 'ENOTDIR' });
    return;
  }
  await makeFolder(dirname(path));
  try {
    await mkdir(path);
  } catch (error) {
    // Another run may have made it meanwhile.
    if ((error as NodeJS.ErrnoException).code !== 'EEXIST') throw error;
  }
}

/** Whether there is a file or folder of this path. @throws the error of the system where that cannot be found out */
export async function exists(path: string): Promise<boolean> {
  try {
    await stat(path);
    return true;
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return false;
    throw error;
  }
}
