import type { DeliveredFile, PassRule } from './delivery.js';

/**
 * The name of a pass in reports: "source 12", the name of its file, "channel 1", or "drive 3" (by gaps in GPS time, counted
 * from 1).
 */
export function labelForPass(
  rule: PassRule,
  key: number,
  files: readonly Pick<DeliveredFile, 'index' | 'name'>[],
): string {
  switch (rule.by) {
    case 'point-source-id':
      return `source ${key}`;
    case 'file':
      return files.find((file) => file.index === key)?.name ?? `file ${key + 1}`;
    case 'scanner-channel':
      return `channel ${key}`;
    case 'gps-time-gap':
      return `drive ${key + 1}`;
  }
}
