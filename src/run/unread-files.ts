import type { Verdict } from '../checks/contract/check.js';
import { plural } from '../checks/contract/wording.js';
import type { DeliveredFile, DeliveryFacts } from '../delivery/delivery.js';
import { isChanged } from '../engine/changed-files.js';
import { damagedPoints, isOnlyDamaged } from '../engine/damaged-chunks.js';

/**
 * A requirement that passes on the points that were read does not pass where other points could not be read. Where a file
 * changed while it was read, none fails either: its figures may mix old and new points.
 */
export function withUnread(verdict: Verdict, delivery: DeliveryFacts): Verdict {
  const changed = delivery.files.filter(isChanged);
  if (verdict.state === 'fail' && changed.length > 0) {
    const names = changed.slice(0, 3).map(({ name }) => name);
    const rest = changed.length > 3 ? ` and ${changed.length - 3} more files` : '';
    const summary = `${verdict.summary} That is not certain, because files changed while they were read: ${names.join(', ')}${rest}.`;
    return { ...verdict, state: 'undetermined', summary };
  }
  const unread = delivery.files.filter((file) => file.fault !== null);
  if (unread.length === 0 || verdict.state !== 'pass') return verdict;
  const names = unread.slice(0, 3).map(unreadPart);
  const rest = unread.length > 3 ? ` and ${unread.length - 3} more files` : '';
  return {
    ...verdict,
    state: 'undetermined',
    summary: `${verdict.summary} That holds for the points that could be read; what could not: ${names.join(', ')}${rest}.`,
  };
}

/**
 * Where a file could not be read in full, what is missing there may explain a requirement that is not met: the file comes
 * first. What the check advises is kept only where something is wrong in files that were read.
 */
export function adviseUnread(verdict: Verdict, delivery: DeliveryFacts): Verdict {
  const unread = new Set(delivery.files.filter((file) => file.fault !== null).map((file) => file.name));
  if (unread.size === 0 || verdict.state === 'pass' || verdict.state === 'not-applicable') return verdict;
  const wrongElsewhere = verdict.evidence.some(
    (part) => part.kind === 'locations' && part.items.some(({ file }) => file !== undefined && !unread.has(file)),
  );
  const names = [...unread];
  const listed = `${names.slice(0, 3).join(', ')}${names.length > 3 ? ` and ${names.length - 3} more files` : ''}`;
  const first = `First replace ${listed}, which could not be read in full, and check again: what is missing there may explain this.`;
  return { ...verdict, advice: [first, ...(wrongElsewhere ? verdict.advice : [])] };
}

function unreadPart(file: DeliveredFile): string {
  if (!isOnlyDamaged(file)) return file.name;
  return `${plural(damagedPoints(file), 'point')} of ${file.name} in ${file.damage.length === 1 ? 'a damaged chunk' : `${file.damage.length} damaged chunks`}`;
}
