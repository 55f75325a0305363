import { identityOf } from '../cloud/source.js';
import { changedFault } from '../cloud/source-file.js';
import type { DeliveredFile } from '../delivery/delivery.js';
import { Fault, TOO_FEW_HANDLES } from '../fault.js';
import type { JobFile } from './job.js';
import { namedFault, type WorkPlan } from './work-plan.js';

/** Files that are looked up at the same time. */
const FILES_AT_ONCE = 8;
const CHANGED = 'file-changed';

/** Whether the bytes of a file changed during the run: a figure may then rest on old and new points. */
export function isChanged({ faultFacts }: DeliveredFile): boolean {
  return faultFacts?.code === CHANGED;
}

/**
 * Looks up whether every file still is the one whose header was read, and notes the fault of those that are not, instead of
 * any other fault they have. To be called after the points were read.
 * @returns whether a file was found changed that had not been before
 */
export async function noteChangedFiles({ files, units }: Pick<WorkPlan, 'files' | 'units'>): Promise<boolean> {
  let found = false;
  let next = 0;
  const look = async () => {
    while (next < files.length) {
      const at = next++;
      const file = files[at];
      const fault = isChanged(file) ? null : await changeOf(units[at], file);
      if (fault === null) continue;
      const facts = namedFault(fault.facts, file.name);
      file.fault = Fault.sentence(facts);
      file.faultFacts = facts;
      found = true;
    }
  };
  await Promise.all(Array.from({ length: Math.min(FILES_AT_ONCE, files.length) }, look));
  return found;
}

/** The fault of a file that has changed or cannot be looked up any more; null for a file that is the same. */
async function changeOf(
  { address, identity, timeoutMs }: JobFile,
  { name, fault }: DeliveredFile,
): Promise<Fault | null> {
  // A file that could not be opened has its fault already.
  if (identity === undefined) return null;
  try {
    return (await identityOf(address, { timeoutMs })) === identity ? null : changedFault(name);
  } catch (error) {
    const now = Fault.from(error, name);
    if (now.facts.code === TOO_FEW_HANDLES) throw now;
    if (now.facts.code === 'file-missing') return changedFault(name);
    // What went wrong while the points were read says more than a server that does not answer now.
    return fault === null ? now : null;
  }
}
