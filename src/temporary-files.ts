import { createHash, randomBytes } from 'node:crypto';
import { renameSync, rmSync } from 'node:fs';
import { readdir, rm, stat } from 'node:fs/promises';
import { hostname } from 'node:os';
import { basename, dirname, join } from 'node:path';

/** Files that this process is writing, under their temporary names. */
const drafts = new Set<string>();
/** Temporary name: the file's own, a digest of the computer's name, the process, and a random number. */
const DRAFT = /^\..+\.([0-9a-f]{8})-(\d+)-[0-9a-f]{12}\.part$/;
/** Drafts of the cache as earlier versions named them. */
const OLD_DRAFT = /\.measured\.tmp-[0-9a-f]{8}$/;
/** No report takes so long to be written. */
const STALE_MS = 86_400_000;

/** Is called when a draft is begun or ended, and before and after drafts are renamed. */
export interface DraftFollower {
  begun(draft: string): void;
  ended(draft: string): void;
  renaming(now: boolean): void;
}
let follower: DraftFollower | null = null;
let renamed = false;

/** Whether this thread has given drafts the names of their files: a result was written. */
export function isResultWritten(): boolean {
  return renamed;
}

/** Names who follows the drafts of this thread, so that another thread can take them away. */
export function followDrafts(by: DraftFollower): void {
  follower = by;
}

/** Renames complete drafts to the names of their files, without a pause in between. @param at called before each */
export function renameDrafts(files: readonly { draft: string; path: string }[], at: (path: string) => void): void {
  follower?.renaming(true);
  for (const { draft, path } of files) {
    at(path);
    renameSync(draft, path);
    endDraft(draft);
  }
  renamed = true;
  follower?.renaming(false);
}

function computer(): string {
  return createHash('sha256').update(hostname()).digest('hex').slice(0, 8);
}

/** A temporary path for a file, in the same folder, and notes that it is being written. */
export function beginDraft(path: string): string {
  const name = `.${basename(path)}.${computer()}-${process.pid}-${randomBytes(6).toString('hex')}.part`;
  const draft = join(dirname(path), name);
  drafts.add(draft);
  follower?.begun(draft);
  return draft;
}

/** Notes that a draft was renamed or taken away. */
export function endDraft(draft: string): void {
  drafts.delete(draft);
  follower?.ended(draft);
}

/** Takes away the files that are being written: for a process that ends before they are complete. */
export function removeDrafts(): void {
  for (const draft of drafts) rmSync(draft, { force: true });
  drafts.clear();
}

/**
 * Takes away what earlier runs that were killed left in a folder: drafts of processes of this computer that do not run any
 * more, and those older than a day. What cannot be taken away is left.
 */
export async function removeStaleDrafts(folder: string): Promise<void> {
  const names = await readdir(folder).catch(() => []);
  for (const name of names) {
    const [, from, process] = DRAFT.exec(name) ?? [];
    if (from === undefined && !OLD_DRAFT.test(name)) continue;
    const path = join(folder, name);
    if ((from === computer() && !runs(Number(process))) || (await isOld(path)))
      await rm(path, { force: true }).catch(() => {});
  }
}

function runs(id: number): boolean {
  try {
    process.kill(id, 0);
    return true;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code !== 'ESRCH';
  }
}

async function isOld(path: string): Promise<boolean> {
  const facts = await stat(path).catch(() => null);
  return facts !== null && Date.now() - facts.mtimeMs > STALE_MS;
}
