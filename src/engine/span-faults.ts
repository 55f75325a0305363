import type { FaultFacts } from '../fault.js';
import type { FactRequest } from '../measure/contract/measurement.js';
import { Facts } from './facts.js';
import type { SpanResult } from './job.js';

/** Why spans could not be read: of each file the fault of its first such span, whichever worker came first. */
export class SpanFaults {
  readonly #first = new Map<number, { at: number; facts: FaultFacts }>();

  add({ faults }: SpanResult): void {
    for (const { task, fault } of faults) {
      const known = this.#first.get(task.file);
      if (!known || task.span.first < known.at) this.#first.set(task.file, { at: task.span.first, facts: fault });
    }
  }

  firstFaultOf(file: number): FaultFacts | null {
    return this.#first.get(file)?.facts ?? null;
  }
}

/** Facts of a reading, and what could not be read. */
export class FactsAndFaults {
  readonly facts: Facts;
  readonly faults = new SpanFaults();

  constructor(requests: readonly FactRequest[]) {
    this.facts = new Facts(requests);
  }

  addResult(result: SpanResult): void {
    this.facts.addResult(result);
    this.faults.add(result);
  }
}
