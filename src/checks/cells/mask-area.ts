import { Fault } from '../../fault.js';
import type { MaskArea } from '../../measure/cells/zone-mask.js';
import type { JudgeContext } from '../contract/check.js';

/**
 * A zone as the parameter of a measurement; null when no zone is named.
 * @throws Fault zone-unknown when the zones file has no zone of that name
 */
export function maskArea({ delivery }: JudgeContext, name: string | undefined, marginMetres = 0): MaskArea | null {
  if (name === undefined) return null;
  const zone = delivery.zones.find((z) => z.name === name);
  if (!zone) {
    throw new Fault({
      code: 'zone-unknown',
      where: 'zones',
      what: `there is no zone called ${name}`,
      found: delivery.zones.map((z) => z.name).join(', ') || 'no zones',
      advice: 'Correct the name in the spec, or give the zones file with --zones',
    });
  }
  return {
    polygons: zone.polygons.map(({ outer, holes }) => ({ outer: [...outer], holes: holes.map((hole) => [...hole]) })),
    margin: marginMetres,
  };
}
