import { zoneByName } from '../../delivery/zones.js';
import type { MaskArea } from '../../measure/cells/zone-mask.js';
import type { JudgeContext } from '../contract/check.js';

/**
 * A zone as the parameter of a measurement; null when no zone is named.
 * @throws Fault zone-unknown when the zones file has no zone of that name
 */
export function maskArea({ delivery }: JudgeContext, name: string | undefined, marginMetres = 0): MaskArea | null {
  if (name === undefined) return null;
  const zone = zoneByName(delivery, name);
  return {
    polygons: zone.polygons.map(({ outer, holes }) => ({ outer: [...outer], holes: holes.map((hole) => [...hole]) })),
    margin: marginMetres,
  };
}
