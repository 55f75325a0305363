import type { FactRequest } from '../measure/contract/measurement.js';
import { isSharedData } from './shared-data.js';

const keys = new WeakMap<FactRequest, string>();

/**
 * A text that is equal for equal requests. The order in which the parameters are written does not matter. It is written once
 * for each request: parameters may hold every tile border of a delivery.
 */
export function factKey(request: FactRequest): string {
  const known = keys.get(request) ?? `${request.measurement} ${canonicalJson(request.params)}`;
  keys.set(request, known);
  return known;
}

/** JSON with sorted keys: equal values give equal texts. Of data in shared memory only the digest is written. */
export function canonicalJson(value: unknown): string {
  if (Array.isArray(value)) return `[${value.map(canonicalJson).join(',')}]`;
  if (value && typeof value === 'object') {
    if (isSharedData(value)) return `{"digest":${JSON.stringify(value.digest)}}`;
    const entries = Object.entries(value).sort(([a], [b]) => (a < b ? -1 : 1));
    return `{${entries.map(([k, v]) => `${JSON.stringify(k)}:${canonicalJson(v)}`).join(',')}}`;
  }
  return JSON.stringify(value) ?? 'null';
}
