import { areaDerivations, derivations, measurementById } from '../measure/index.js';
import type { FactAsk } from '../measure/measurement.js';
import type { AreaStore } from './areas.js';
import type { AssignedMeasurement, TaskResult } from './task.js';

/** Something a check asks for: a measurement or a derivation, with its parameters. */
export type Ask = FactAsk;

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

/** The same measurements as an assignment, with what is to be kept of their areas. */
export function assigned(roots: readonly Ask[], asks: readonly Ask[]): AssignedMeasurement[] {
  return roots.map((root) => {
    const collects = new Map<string, Ask>();
    for (const ask of asks) {
      const derivation = areaDerivations.find((d) => d.id === ask.measurement);
      if (!derivation || askKey(derivation.from(ask.params)) !== askKey(root)) continue;
      const local = { measurement: ask.measurement, params: derivation.local(ask.params) };
      collects.set(askKey(local), local);
    }
    const { measurement: id, params } = root;
    return { id, params, collects: [...collects.values()] };
  });
}

function rootOf(ask: Ask): Ask {
  const derivation = [...derivations, ...areaDerivations].find((d) => d.id === ask.measurement);
  return derivation ? rootOf(derivation.from(ask.params)) : ask;
}

/** Merged states of all measurements; results are worked out on demand, once. */
export class Facts {
  readonly #asks: readonly Ask[];
  readonly #areas: AreaStore | null;
  readonly #states: unknown[];
  readonly #results = new Map<string, unknown>();
  readonly #wholes = new Map<string, unknown>();
  readonly #others: Facts[] = [];

  /** @param areas takes the states that are cut into areas; without it they are merged whole, to be packed */
  constructor(asks: readonly Ask[], areas: AreaStore | null = null) {
    this.#asks = asks;
    this.#areas = areas;
    this.#states = asks.map(({ measurement, params }) => measurementById(measurement).create(params));
  }

  /** Adds what a worker measured; call it once for each result. */
  absorb(result: TaskResult): void {
    if (result.states.length > 0) {
      for (let m = 0; m < this.#asks.length; m++) {
        const kind = measurementById(this.#asks[m].measurement);
        if (!(this.#areas && kind.areas)) kind.absorb(this.#states[m], result.states[m]);
      }
    }
    this.#areas?.add(result);
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

  /** What the asks turn out to need in a second reading. */
  again(asks: readonly Ask[]): Ask[] {
    return asks.flatMap((ask) => {
      const derivation = areaDerivations.find((d) => d.id === ask.measurement);
      if (!derivation || !this.has(ask) || this.#areas?.failed) return [];
      return derivation.again(this.#wholeOf(ask), ask.params);
    });
  }

  /** Takes in the facts of a second reading. */
  adopt(others: Facts): void {
    this.#others.push(others);
  }

  /** @throws Fault when the fact cannot be worked out; the reason then belongs to the requirement that asked. */
  get(ask: Ask): unknown {
    const key = askKey(ask);
    if (this.#results.has(key)) return this.#results.get(key);
    const result = this.#workOut(ask, key);
    this.#results.set(key, result);
    return result;
  }

  #workOut(ask: Ask, key: string): unknown {
    const other = this.has(ask) ? undefined : this.#others.find((facts) => facts.has(ask));
    if (other) return other.get(ask);
    const byArea = areaDerivations.find((d) => d.id === ask.measurement);
    if (byArea) return byArea.combine(this.#wholeOf(ask), ask.params, (known) => this.get(known));
    const derivation = derivations.find((d) => d.id === ask.measurement);
    if (derivation) return derivation.derive(this.get(derivation.from(ask.params)), ask.params);
    return measurementById(ask.measurement).finish(this.#states[this.#placeOf(ask, key)], ask.params);
  }

  /** The areas put together for an ask, once for all that agree on what is kept. */
  #wholeOf(ask: Ask): unknown {
    const derivation = areaDerivations.find((d) => d.id === ask.measurement)!;
    const root = derivation.from(ask.params);
    const place = this.#placeOf(root, askKey(root));
    if (!this.#areas) throw new RangeError(`${ask.measurement} needs areas, and this run kept none`);
    const local: Ask = { measurement: ask.measurement, params: derivation.local(ask.params) };
    const key = askKey(local);
    if (!this.#wholes.has(key)) this.#wholes.set(key, derivation.gather(this.#areas.parts(place, local)));
    return this.#wholes.get(key);
  }

  #placeOf(ask: Ask, key: string): number {
    const at = this.#asks.findIndex((known) => askKey(known) === key);
    if (at < 0) throw new RangeError(`${ask.measurement} was not measured in this run`);
    return at;
  }
}
