import { Fault, type FaultFacts, TOO_FEW_HANDLES } from '../fault.js';
import type { SpanResult } from './job.js';

/** Why spans could not be read. For each file the fault of its first such span is kept, in whatever order results come. */
export class SpanFaults {
  readonly #first = new Map<number, { at: number; facts: FaultFacts }>();

  /** @throws Fault where the system refused to open more files: that is no fault of a file */
  add({ faults }: SpanResult): void {
    for (const { task, fault } of faults) {
      if (fault.code === TOO_FEW_HANDLES) throw new Fault(fault);
      const known = this.#first.get(task.file);
      if (!known || task.span.first < known.at) this.#first.set(task.file, { at: task.span.first, facts: fault });
    }
  }

  /** The fault of the first span of a file that could not be read; null where all could. */
  firstFaultOf(file: number): FaultFacts | null {
    return this.#first.get(file)?.facts ?? null;
  }
}
