import type { FactRequest } from '../measure/contract/measurement.js';
import { isSharedData } from './shared-data.js';

/** A text that is equal for equal requests. The order in which the parameters are written does not matter. */
export function factKey({ measurement, params }: FactRequest): string {
  return `${measurement} ${canonicalJson(params)}`;
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
