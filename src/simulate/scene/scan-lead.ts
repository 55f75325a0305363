import type { ScanPass } from './scan-options.js';
import type { Street } from './street.js';

/** Metres that the vehicle drives before and after what is scanned, so that turned heads see all of it. */
export function scanLead(street: Street, { headYaws, lane }: Pick<ScanPass, 'headYaws' | 'lane'>): number {
  const steepest = Math.max(...headYaws.map((yaw) => Math.abs(Math.tan((yaw * Math.PI) / 180))));
  return (street.sideOffset + Math.abs(lane) + 2) * steepest;
}
