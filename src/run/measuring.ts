import type { Cloud } from '../cloud/cloud.js';
import type { Column } from '../cloud/columns.js';
import { openCloud } from '../cloud/open.js';
import { Fault } from '../fault.js';
import { measurementById } from '../measure/index.js';
import type { MeasuredBatch } from '../measure/measurement.js';
import type { Assignment, Task, TaskResult } from './task.js';
import { createMeasuredBatch, place } from './world.js';

/** Clouds a worker keeps open: spans of one file mostly come in a row. */
const OPEN_CLOUDS = 4;

/** Measures spans, one after the other: the whole of what a worker does. */
export class Measuring {
  readonly #assignment: Assignment;
  readonly #columns: ReadonlySet<Column>;
  readonly #clouds = new Map<number, Cloud>();
  #batch: MeasuredBatch | null = null;

  constructor(assignment: Assignment) {
    this.#assignment = assignment;
    this.#columns = new Set(assignment.columns);
  }

  /** Decodes each point of the span once and feeds every measurement. A bad span is answered, not thrown. */
  async measure(task: Task): Promise<TaskResult> {
    const { measurements, files, passes } = this.#assignment;
    const units = files[task.file];
    const kinds = measurements.map(({ id }) => measurementById(id));
    const states = measurements.map(({ params }, i) => kinds[i].create(params));
    try {
      const cloud = await this.#open(task.file);
      let points = 0;
      await cloud.decode(task.span, this.#columns, (raw) => {
        if (!this.#batch || this.#batch.east.length < raw.capacity)
          this.#batch = createMeasuredBatch(raw, raw.capacity);
        const batch = this.#batch;
        place(batch, raw, cloud.header, task.file, units, passes);
        for (let m = 0; m < kinds.length; m++) kinds[m].add(states[m], batch);
        points += raw.count;
      });
      if (points !== task.span.points) {
        throw new Fault({
          code: 'points-missing',
          where: cloud.source.name,
          what: 'fewer points were decoded than the file announces',
          found: points,
          expected: task.span.points,
          advice: 'Copy or export the file again',
        });
      }
    } catch (error) {
      return { task, states: [], fault: Fault.from(error, units.address).facts };
    }
    return { task, states: states.map((state, m) => kinds[m].pack(state)), fault: null };
  }

  async close(): Promise<void> {
    for (const cloud of this.#clouds.values()) await cloud.close();
    this.#clouds.clear();
  }

  async #open(file: number): Promise<Cloud> {
    const known = this.#clouds.get(file);
    if (known) return known;
    const cloud = await openCloud(this.#assignment.files[file].address);
    this.#clouds.set(file, cloud);
    if (this.#clouds.size > OPEN_CLOUDS) {
      const [oldest, stale] = this.#clouds.entries().next().value!;
      this.#clouds.delete(oldest);
      await stale.close();
    }
    return cloud;
  }
}
