import { Fault, type FaultFacts } from '../fault.js';
import type { FactRequest } from '../measure/contract/measurement.js';
import { blockDerivations, derivations, measurementById } from '../measure/index.js';
import type { BlockStore } from './block-store.js';
import type { AssignedMeasurement, MeasurementFailure, SpanResult } from './job.js';

/** Same measurement, same parameters: the same fact. Keys are sorted, so that spelling order in a spec does not matter. */
export function factKey({ measurement, params }: FactRequest): string {
  return `${measurement} ${canonicalJson(params)}`;
}

/** JSON with sorted keys: equal values give equal texts. */
export function canonicalJson(value: unknown): string {
  if (Array.isArray(value)) return `[${value.map(canonicalJson).join(',')}]`;
  if (value && typeof value === 'object') {
    const entries = Object.entries(value).sort(([a], [b]) => (a < b ? -1 : 1));
    return `{${entries.map(([k, v]) => `${JSON.stringify(k)}:${canonicalJson(v)}`).join(',')}}`;
  }
  return JSON.stringify(value) ?? 'null';
}

/** The measurements behind a list of requests, each once: what the workers must collect. */
export function measurementsBehind(requests: readonly FactRequest[]): FactRequest[] {
  const found = new Map<string, FactRequest>();
  for (const request of requests) {
    const root = rootOf(request);
    found.set(factKey(root), root);
  }
  return [...found.entries()].sort(([a], [b]) => (a < b ? -1 : 1)).map(([, request]) => request);
}

/** The same measurements as an assignment, with what is to be kept of their areas. */
export function assignedMeasurements(
  roots: readonly FactRequest[],
  requests: readonly FactRequest[],
): AssignedMeasurement[] {
  return roots.map((root) => {
    const collects = new Map<string, FactRequest>();
    for (const request of requests) {
      const derivation = blockDerivations.find((d) => d.id === request.measurement);
      if (!derivation || factKey(derivation.from(request.params)) !== factKey(root)) continue;
      const local = { measurement: request.measurement, params: derivation.local(request.params) };
      collects.set(factKey(local), local);
    }
    const { measurement: id, params } = root;
    return { id, params, collects: [...collects.values()] };
  });
}

function rootOf(request: FactRequest): FactRequest {
  const derivation = [...derivations, ...blockDerivations].find((d) => d.id === request.measurement);
  return derivation ? rootOf(derivation.from(request.params)) : request;
}

/** Merged states of all measurements; results are worked out on demand, once. */
export class Facts {
  readonly #requests: readonly FactRequest[];
  readonly #areas: BlockStore | null;
  readonly #states: unknown[];
  readonly #results = new Map<string, unknown>();
  readonly #wholes = new Map<string, unknown>();
  readonly #secondReadings: Facts[] = [];
  /** Measurements that failed, by index: of several failures the one in the first span. */
  readonly #failures = new Map<number, MeasurementFailure>();

  /** @param areas takes the states that are cut into areas; without it they are merged whole, to be packed */
  constructor(requests: readonly FactRequest[], areas: BlockStore | null = null) {
    this.#requests = requests;
    this.#areas = areas;
    this.#states = requests.map(({ measurement, params }) => measurementById(measurement).create(params));
  }

  /** Adds what a worker measured; call it once for each result. */
  addResult(result: SpanResult): void {
    for (const failure of result.failures) this.#noteFailure(failure);
    if (result.states.length > 0) {
      for (let m = 0; m < this.#requests.length; m++) {
        const kind = measurementById(this.#requests[m].measurement);
        if (this.#failures.has(m) || (this.#areas && kind.blocks)) continue;
        try {
          kind.merge(this.#states[m], result.states[m]);
        } catch (error) {
          const { facts } = Fault.from(error, `measurement ${this.#requests[m].measurement}`);
          const { file, span } = result.tasks[0];
          this.#noteFailure({ measurement: m, file, first: span.first, fault: facts });
        }
      }
    }
    this.#areas?.addPieces(result);
  }

  #noteFailure(failure: MeasurementFailure): void {
    const known = this.#failures.get(failure.measurement);
    const isFirst = !known || failure.file < known.file || (failure.file === known.file && failure.first < known.first);
    if (isFirst) this.#failures.set(failure.measurement, failure);
  }

  /** Why a measurement behind a request failed; null where it did not, or was not asked for. */
  failureOf(request: FactRequest): FaultFacts | null {
    const key = factKey(rootOf(request));
    const index = this.#requests.findIndex((known) => factKey(known) === key);
    return this.#failures.get(index)?.fault ?? null;
  }

  /** The fact, or null where it could not be measured or worked out. */
  getOrNull(request: FactRequest): unknown {
    try {
      return this.get(request);
    } catch {
      return null;
    }
  }

  /** Whether the fact was asked for when measuring began. */
  has(request: FactRequest): boolean {
    const key = factKey(rootOf(request));
    return this.#requests.some((known) => factKey(known) === key);
  }

  /** Packed states, in the order of the requests. */
  pack(): ArrayBuffer[] {
    return this.#requests.map(({ measurement }, m) => measurementById(measurement).pack(this.#states[m]));
  }

  /** What the requests turn out to need in a second reading. */
  secondReadingRequests(requests: readonly FactRequest[]): FactRequest[] {
    return requests.flatMap((request) => {
      const derivation = blockDerivations.find((d) => d.id === request.measurement);
      if (!derivation || !this.has(request) || this.#areas?.failed || this.failureOf(request) !== null) return [];
      return derivation.secondReading(this.#wholeOf(request), request.params);
    });
  }

  /** Takes in the facts of a second reading. */
  addSecondReading(others: Facts): void {
    this.#secondReadings.push(others);
  }

  /** @throws Fault when the fact cannot be worked out; the reason then belongs to the requirement that asked. */
  get(request: FactRequest): unknown {
    const key = factKey(request);
    if (this.#results.has(key)) return this.#results.get(key);
    const failure = this.failureOf(request);
    if (failure !== null) throw new Fault(failure);
    let result: unknown;
    try {
      result = this.#compute(request, key);
    } catch (error) {
      throw Fault.from(error, `measurement ${request.measurement}`);
    }
    this.#results.set(key, result);
    return result;
  }

  #compute(request: FactRequest, key: string): unknown {
    const other = this.has(request) ? undefined : this.#secondReadings.find((facts) => facts.has(request));
    if (other) return other.get(request);
    const byArea = blockDerivations.find((d) => d.id === request.measurement);
    if (byArea) return byArea.combine(this.#wholeOf(request), request.params, (known) => this.get(known));
    const derivation = derivations.find((d) => d.id === request.measurement);
    if (derivation) return derivation.derive(this.get(derivation.from(request.params)), request.params);
    return measurementById(request.measurement).finish(this.#states[this.#indexOf(request, key)], request.params);
  }

  /** The areas put together for an request, once for all that agree on what is kept. */
  #wholeOf(request: FactRequest): unknown {
    const derivation = blockDerivations.find((d) => d.id === request.measurement)!;
    const root = derivation.from(request.params);
    const place = this.#indexOf(root, factKey(root));
    if (!this.#areas) throw new RangeError(`${request.measurement} needs areas, and this run kept none`);
    const local: FactRequest = { measurement: request.measurement, params: derivation.local(request.params) };
    const key = factKey(local);
    if (!this.#wholes.has(key)) this.#wholes.set(key, derivation.gather(this.#areas.parts(place, local)));
    return this.#wholes.get(key);
  }

  #indexOf(request: FactRequest, key: string): number {
    const at = this.#requests.findIndex((known) => factKey(known) === key);
    if (at < 0) throw new RangeError(`${request.measurement} was not measured in this run`);
    return at;
  }
}
