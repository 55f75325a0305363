import type { FaultFacts } from '../fault.js';
import { type Ask, Facts } from './reduce.js';
import type { TaskResult } from './task.js';

/** Why spans could not be read: of each file the fault of its first such span, whichever worker came first. */
export class SpanFaults {
  readonly #first = new Map<number, { at: number; facts: FaultFacts }>();

  add({ faults }: TaskResult): void {
    for (const { task, fault } of faults) {
      const known = this.#first.get(task.file);
      if (!known || task.span.first < known.at) this.#first.set(task.file, { at: task.span.first, facts: fault });
    }
  }

  of(file: number): FaultFacts | null {
    return this.#first.get(file)?.facts ?? null;
  }
}

/** Facts of a reading, and what could not be read. */
export class FactsAndFaults {
  readonly facts: Facts;
  readonly faults = new SpanFaults();

  constructor(asks: readonly Ask[]) {
    this.facts = new Facts(asks);
  }

  absorb(result: TaskResult): void {
    this.facts.absorb(result);
    this.faults.add(result);
  }
}
