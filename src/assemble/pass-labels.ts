import type { DeliveredFile, Pass, PassRule } from '../delivery/delivery.js';
import { labelForPass } from '../delivery/passes.js';
import { type MeasuredDelivery, POINT_COUNTS } from '../engine/measure-delivery.js';

/** The passes that hold points, by key, with the names they have in the report. */
export function passLabels(
  { facts, starts }: MeasuredDelivery,
  files: readonly DeliveredFile[],
  rule: PassRule,
): Pass[] {
  const points = new Map<number, number>();
  for (const row of facts.getOrNull(POINT_COUNTS) ?? []) points.set(row.pass, (points.get(row.pass) ?? 0) + row.points);
  return [...points.keys()]
    .sort((a, b) => a - b)
    .map((key) => ({
      key,
      label: labelForPass(rule, key, files, starts),
      points: points.get(key)!,
    }));
}
