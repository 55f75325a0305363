import type { Verdict } from './check.js';

export { figure } from './figure.js';

/** A length as a surveyor says it: millimetres with one decimal below a metre, metres with three above. */
export function length(metres: number | null): string {
  if (metres === null) return 'unknown';
  const size = Math.abs(metres);
  return size < 1 ? `${trimZero((metres * 1000).toFixed(1))} mm` : `${metres.toFixed(3)} m`;
}

/** As `length`, with the sign always shown. */
export function signedLength(metres: number): string {
  return metres > 0 ? `+${length(metres)}` : length(metres);
}

export function area(squareMetres: number): string {
  return `${squareMetres < 10 ? squareMetres.toFixed(2) : squareMetres.toFixed(1)} m²`;
}

export function percent(share: number): string {
  return `${(share * 100).toFixed(1)} %`;
}

export function plural(count: number, one: string, many = `${one}s`): string {
  return `${count.toLocaleString('en-GB')} ${count === 1 ? one : many}`;
}

function trimZero(text: string): string {
  return text === '-0.0' ? '0.0' : text;
}

/** A verdict that nothing could be said, with the reason. */
export function undetermined(summary: string, more: Partial<Verdict> = {}): Verdict {
  return { state: 'undetermined', summary, measured: {}, limits: {}, evidence: [], advice: [], ...more };
}

/** Words for the area judged. */
export function inZone(zone: string | undefined): string {
  return zone === undefined ? 'in the delivery' : `in zone ${zone}`;
}
