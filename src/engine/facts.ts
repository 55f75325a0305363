import { Fault, type FaultFacts } from '../fault.js';
import type { FactRequest } from '../measure/contract/measurement.js';
import { refuseWrongParameters } from '../measure/fact-parameters.js';
import type { FactRequests, ResultOf, ResultsOf } from '../measure/fact-types.js';
import { blockDerivations, derivations, measurementById } from '../measure/index.js';
import type { BlockStore } from './block-store.js';
import { factKey } from './fact-key.js';
import type { AssignedMeasurement, MeasurementFailure, SpanResult } from './job.js';

/**
 * The measurements that a list of requests is computed from, each once, sorted by key: what the workers must measure.
 * @throws RangeError for an unknown fact or a wrong parameter: a mistake of ours
 */
export function measurementsBehind(requests: readonly FactRequest[]): FactRequest[] {
  const found = new Map<string, FactRequest>();
  for (const request of requests) {
    const root = rootOf(request);
    found.set(factKey(root), root);
  }
  return [...found.entries()].sort(([a], [b]) => (a < b ? -1 : 1)).map(([, request]) => request);
}

/** The same measurements as the workers get them, with the parts that are to be kept of their processing blocks. */
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

const roots = new WeakMap<FactRequest, FactRequest>();

/** The measurement that a request is computed from; worked out once for each request. */
function rootOf(request: FactRequest): FactRequest {
  const known = roots.get(request);
  if (known) return known;
  refuseWrongParameters(request);
  const derivation = [...derivations, ...blockDerivations].find((d) => d.id === request.measurement);
  const root = derivation ? rootOf(derivation.from(request.params)) : request;
  roots.set(request, root);
  return root;
}

/** The merged states of all measurements. A result is computed when it is first asked for, and kept. */
export class Facts {
  readonly #requests: readonly FactRequest[];
  readonly #blocks: BlockStore | null;
  readonly #states: unknown[];
  readonly #results = new Map<string, unknown>();
  readonly #wholes = new Map<string, unknown>();
  readonly #secondReadings: Facts[] = [];
  /** By fact: why it is not known what must be measured for it in a second reading. */
  readonly #unplanned = new Map<string, Fault>();
  /** Measurements that failed, by index: of several failures the one in the first span. */
  readonly #failures = new Map<number, MeasurementFailure>();

  /**
   * @param requests the measurements, as `measurementsBehind` returns them
   * @param blocks takes the states that are cut into processing blocks; without it they are merged whole, to be packed
   */
  constructor(requests: readonly FactRequest[], blocks: BlockStore | null = null) {
    this.#requests = requests;
    this.#blocks = blocks;
    this.#states = requests.map(({ measurement, params }) => measurementById(measurement).create(params));
  }

  /** Merges the result of a worker; call it once for each result. */
  addResult(result: SpanResult): void {
    for (const failure of result.failures) this.#noteFailure(failure);
    if (result.states.length > 0) {
      for (let m = 0; m < this.#requests.length; m++) {
        const kind = measurementById(this.#requests[m].measurement);
        if (this.#failures.has(m) || (this.#blocks && kind.blocks)) continue;
        try {
          kind.merge(this.#states[m], result.states[m]);
        } catch (error) {
          const { facts } = Fault.from(error, `measurement ${this.#requests[m].measurement}`);
          const { file, span } = result.tasks[0];
          this.#noteFailure({ measurement: m, file, first: span.first, fault: facts });
        }
      }
    }
    this.#blocks?.addPieces(result);
  }

  #noteFailure(failure: MeasurementFailure): void {
    const known = this.#failures.get(failure.measurement);
    const isFirst = !known || failure.file < known.file || (failure.file === known.file && failure.first < known.first);
    if (isFirst) this.#failures.set(failure.measurement, failure);
  }

  /** Why the measurement that a request is computed from failed; null where it did not fail, or was not measured. */
  failureOf(request: FactRequest): FaultFacts | null {
    const key = factKey(rootOf(request));
    const index = this.#requests.findIndex((known) => factKey(known) === key);
    return this.#failures.get(index)?.fault ?? null;
  }

  /** The result of a request, or null where it could not be measured or computed. */
  getOrNull<Request extends FactRequest>(request: Request): ResultOf<Request> | null {
    try {
      return this.get(request);
    } catch {
      return null;
    }
  }

  /** Whether the measurement that the fact is computed from was measured. */
  has(request: FactRequest): boolean {
    const key = factKey(rootOf(request));
    return this.#requests.some((known) => factKey(known) === key);
  }

  /** Packed states, in the order of the requests. */
  pack(): ArrayBuffer[] {
    return this.#requests.map(({ measurement }, m) => measurementById(measurement).pack(this.#states[m]));
  }

  /** What must be measured in a second reading before the requests can be answered. */
  secondReadingRequests(requests: readonly FactRequest[]): FactRequest[] {
    return requests.flatMap((request) => {
      const derivation = blockDerivations.find((d) => d.id === request.measurement);
      if (!derivation || !this.has(request) || this.failureOf(request) !== null) return [];
      try {
        return derivation.secondReading(this.#wholeOf(request), request.params);
      } catch (error) {
        // Whoever asks for this fact gets the fault; the other facts are measured.
        this.#unplanned.set(factKey(request), Fault.from(error, `measurement ${request.measurement}`));
        return [];
      }
    });
  }

  /** Adds the facts of a second reading. */
  addSecondReading(others: Facts): void {
    this.#secondReadings.push(others);
  }

  /**
   * The result of a request.
   * @throws Fault when the fact cannot be measured or computed; the requirement that asked for it is then undetermined
   * @throws RangeError for a wrong parameter: a mistake of ours
   */
  get<Request extends FactRequest>(request: Request): ResultOf<Request> {
    const key = factKey(request);
    if (!this.#results.has(key)) {
      const failure = this.failureOf(request);
      if (failure !== null) throw new Fault(failure);
      const unplanned = this.#unplanned.get(key);
      if (unplanned) throw unplanned;
      try {
        this.#results.set(key, this.#compute(request, key));
      } catch (error) {
        throw Fault.from(error, `measurement ${request.measurement}`);
      }
    }
    // The only place where the type of a result is asserted: the registered fact of this id computed it.
    return this.#results.get(key) as ResultOf<Request>;
  }

  /** The results of named requests, under the same names; nothing for a request that is undefined. Throws as `get` does. */
  getAll<Requests extends FactRequests>(requests: Requests): ResultsOf<Requests> {
    const results: Record<string, unknown> = {};
    for (const [name, request] of Object.entries(requests)) if (request) results[name] = this.get(request);
    return results as ResultsOf<Requests>;
  }

  #compute(request: FactRequest, key: string): unknown {
    const other = this.has(request) ? undefined : this.#secondReadings.find((facts) => facts.has(request));
    if (other) return other.get(request);
    const byBlock = blockDerivations.find((d) => d.id === request.measurement);
    if (byBlock) return byBlock.combine(this.#wholeOf(request), request.params, (known) => this.get(known));
    const derivation = derivations.find((d) => d.id === request.measurement);
    if (derivation) return derivation.derive(this.get(derivation.from(request.params)), request.params);
    return measurementById(request.measurement).finish(this.#states[this.#indexOf(request, key)], request.params);
  }

  /** The parts of all blocks, gathered once for all requests that agree on the parts. */
  #wholeOf(request: FactRequest): unknown {
    const derivation = blockDerivations.find((d) => d.id === request.measurement)!;
    const root = derivation.from(request.params);
    const place = this.#indexOf(root, factKey(root));
    if (!this.#blocks) throw new RangeError(`${request.measurement} needs processing blocks, and this run kept none`);
    const local: FactRequest = { measurement: request.measurement, params: derivation.local(request.params) };
    const key = factKey(local);
    if (!this.#wholes.has(key)) this.#wholes.set(key, derivation.gather(this.#blocks.parts(place, local)));
    return this.#wholes.get(key);
  }

  #indexOf(request: FactRequest, key: string): number {
    const at = this.#requests.findIndex((known) => factKey(known) === key);
    if (at < 0) throw new RangeError(`${request.measurement} was not measured in this run`);
    return at;
  }
}
