import { derivations, measurementById } from '../measure/index.js';
import type { TaskResult } from './task.js';

/** Something a check asks for: a measurement or a derivation, with its parameters. */
export interface Ask {
  measurement: string;
  params: unknown;
}

/** Same measurement, same parameters: the same fact. Keys are sorted, so that spelling order in a spec does not matter. */
export function askKey({ measurement, params }: Ask): string {
  return `${measurement} ${canonical(params)}`;
}

/** JSON with sorted keys: equal values give equal texts. */
export function canonical(value: unknown): string {
  if (Array.isArray(value)) return `[${value.map(canonical).join(',')}]`;
  if (value && typeof value === 'object') {
    const entries = Object.entries(value).sort(([a], [b]) => (a < b ? -1 : 1));
    return `{${entries.map(([k, v]) => `${JSON.stringify(k)}:${canonical(v)}`).join(',')}}`;
  }
  return JSON.stringify(value) ?? 'null';
}

/** The measurements behind a list of asks, each once: what the workers must collect. */
export function measurementsFor(asks: readonly Ask[]): Ask[] {
  const found = new Map<string, Ask>();
  for (const ask of asks) {
    const root = rootOf(ask);
    found.set(askKey(root), root);
  }
  return [...found.entries()].sort(([a], [b]) => (a < b ? -1 : 1)).map(([, ask]) => ask);
}

function rootOf(ask: Ask): Ask {
  const derivation = derivations.find((d) => d.id === ask.measurement);
  return derivation ? rootOf(derivation.from(ask.params)) : ask;
}

/** Merged states of all measurements; results are worked out on demand, once. */
export class Facts {
  readonly #asks: readonly Ask[];
  readonly #states: unknown[];
  readonly #results = new Map<string, unknown>();

  constructor(asks: readonly Ask[]) {
    this.#asks = asks;
    this.#states = asks.map(({ measurement, params }) => measurementById(measurement).create(params));
  }

  /** Adds what a worker measured; call it once for each result. */
  absorb(result: TaskResult): void {
    if (result.states.length === 0) return;
    for (let m = 0; m < this.#asks.length; m++) {
      measurementById(this.#asks[m].measurement).absorb(this.#states[m], result.states[m]);
    }
  }

  /** Whether the fact was asked for when measuring began. */
  has(ask: Ask): boolean {
    const key = askKey(rootOf(ask));
    return this.#asks.some((known) => askKey(known) === key);
  }

  /** Packed states, in the order of the asks. */
  pack(): ArrayBuffer[] {
    return this.#asks.map(({ measurement }, m) => measurementById(measurement).pack(this.#states[m]));
  }

  /** @throws Fault when the fact cannot be worked out; the reason then belongs to the requirement that asked. */
  get(ask: Ask): unknown {
    const key = askKey(ask);
    if (this.#results.has(key)) return this.#results.get(key);
    const derivation = derivations.find((d) => d.id === ask.measurement);
    const result = derivation
      ? derivation.derive(this.get(derivation.from(ask.params)), ask.params)
      : this.#finish(ask, key);
    this.#results.set(key, result);
    return result;
  }

  #finish(ask: Ask, key: string): unknown {
    const at = this.#asks.findIndex((known) => askKey(known) === key);
    if (at < 0) throw new RangeError(`${ask.measurement} was not measured in this run`);
    return measurementById(ask.measurement).finish(this.#states[at], ask.params);
  }
}
