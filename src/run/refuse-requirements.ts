import type { Zone } from '../delivery/zones.js';
import { Fault } from '../fault.js';
import type { AcceptanceSpec } from '../spec/acceptance-spec.js';
import { fragments } from './check-fragments.js';

/**
 * Refuses a guarded decision for a check that does not know its own uncertainty.
 * @throws Fault `spec-invalid`
 */
export function refuseUnguardable(spec: AcceptanceSpec): void {
  const guardable = new Set(
    fragments()
      .filter((f) => f.canGuard)
      .map((f) => f.id),
  );
  const wrong = spec.requirements.filter((r) => r.decision === 'guarded' && !guardable.has(r.check));
  if (wrong.length === 0) return;
  throw new Fault({
    code: 'spec-invalid',
    where: spec.file,
    what: `a guarded decision is not possible for ${wrong.map((r) => `${r.id} (${r.check})`).join(', ')}`,
    advice: `Leave "decision" out there; it is possible for ${[...guardable].join(', ')}`,
  });
}

/**
 * Refuses a zone for a check that judges whole files.
 * @throws Fault `spec-invalid`
 */
export function refuseZonesOfFiles(spec: AcceptanceSpec): void {
  const whole = new Set(
    fragments()
      .filter((f) => f.wholeFiles)
      .map((f) => f.id),
  );
  const wrong = spec.requirements.filter((r) => r.zone !== undefined && whole.has(r.check));
  if (wrong.length === 0) return;
  throw new Fault({
    code: 'spec-invalid',
    where: spec.file,
    what: `${wrong.map((r) => `${r.id} (${r.check})`).join(', ')} judges whole files, so a zone has no meaning there`,
    advice: 'Leave "zone" out',
  });
}

/**
 * Refuses a requirement about a zone that the zones file does not have.
 * @param path the zones file; null where none was given
 * @throws Fault `zone-unknown`
 */
export function refuseUnknownZones(spec: AcceptanceSpec, zones: readonly Zone[], path: string | null): void {
  const known = zones.map((zone) => zone.name);
  for (const { id, zone } of spec.requirements) {
    if (zone === undefined || known.includes(zone)) continue;
    throw new Fault({
      code: 'zone-unknown',
      where: path ?? spec.file,
      what:
        path === null
          ? `requirement ${id} is about zone ${zone}, but no zones file was given`
          : `requirement ${id} is about zone ${zone}, which the zones file does not have (it has ${known.join(', ')})`,
      advice: path === null ? 'Give it with --zones' : 'Correct the name in the spec or in the zones file',
    });
  }
}
