import type { FactRequest } from './contract/measurement.js';
import { blockDerivations, derivations, measurements } from './index.js';

const byId = new Map([...measurements, ...derivations, ...blockDerivations].map((source) => [source.id, source]));

/**
 * Compares the parameters of a request with those that the fact declares. A misspelt parameter would otherwise be
 * ignored, and the figures would change without a message.
 * @throws RangeError for an unknown fact, an unknown parameter or a missing one: an internal error, never a fault
 */
export function refuseWrongParameters({ measurement, params }: FactRequest): void {
  const source = byId.get(measurement);
  if (!source) throw new RangeError(`no fact is called ${measurement}`);
  const declared = source.parameters;
  const given = new Map(Object.entries(params ?? {}));
  for (const name of given.keys()) {
    if (!Object.hasOwn(declared, name))
      throw new RangeError(
        `${measurement} has no parameter called ${name}; it has ${Object.keys(declared).join(', ') || 'none'}`,
      );
  }
  for (const [name, need] of Object.entries(declared)) {
    if (need === 'required' && given.get(name) === undefined)
      throw new RangeError(`${measurement} needs the parameter ${name}, which the request does not give`);
  }
}
