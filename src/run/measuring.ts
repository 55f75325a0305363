import type { Cloud } from '../cloud/cloud.js';
import type { Column } from '../cloud/columns.js';
import { openCloud } from '../cloud/open.js';
import { Fault } from '../fault.js';
import { measurementById } from '../measure/index.js';
import type { AnyMeasurement, MeasuredBatch } from '../measure/measurement.js';
import type { Assignment, Task, TaskResult } from './task.js';
import { createMeasuredBatch, place } from './world.js';

/** Clouds a worker keeps open: spans of one file mostly come in a row. */
const OPEN_CLOUDS = 4;

/** Boxes that hold nothing yet, six numbers each. */
export function emptyBoxes(count: number): Float64Array {
  return Float64Array.from({ length: count * 6 }, (_, k) =>
    k % 6 < 3 ? Number.POSITIVE_INFINITY : Number.NEGATIVE_INFINITY,
  );
}

function widen(boxes: Float64Array, index: number, box: Float64Array): void {
  const at = index * 6;
  for (let k = 0; k < 3; k++) {
    if (box[k] < boxes[at + k]) boxes[at + k] = box[k];
    if (box[k + 3] > boxes[at + k + 3]) boxes[at + k + 3] = box[k + 3];
  }
}

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

  /**
   * Measures some spans into one state. A span that cannot be read is answered, not thrown, and none of its points count:
   * the others are then measured again without it, for what it had already added cannot be taken out.
   */
  async measure(tasks: readonly Task[]): Promise<TaskResult> {
    const { measurements, files } = this.#assignment;
    const kinds = measurements.map(({ id }) => measurementById(id));
    const faults: TaskResult['faults'] = [];
    const boxes = emptyBoxes(tasks.length);
    let sound = [...tasks];
    for (;;) {
      const states = measurements.map(({ params }, i) => kinds[i].create(params));
      const bad = await this.#measureInto(kinds, states, sound, (task, box) => widen(boxes, tasks.indexOf(task), box));
      if (bad === null) {
        return { tasks: [...tasks], states: states.map((state, m) => kinds[m].pack(state)), boxes, faults };
      }
      faults.push({ task: bad.task, fault: Fault.from(bad.error, files[bad.task.file].address).facts });
      sound = sound.filter((task) => task !== bad.task);
    }
  }

  async #measureInto(
    kinds: readonly AnyMeasurement[],
    states: readonly unknown[],
    tasks: readonly Task[],
    seen: (task: Task, box: Float64Array) => void,
  ): Promise<{ task: Task; error: unknown } | null> {
    for (const task of tasks) {
      try {
        await this.#measureSpan(kinds, states, task, seen);
      } catch (error) {
        return { task, error };
      }
    }
    return null;
  }

  /** Decodes each point of the span once and feeds every measurement. */
  async #measureSpan(
    kinds: readonly AnyMeasurement[],
    states: readonly unknown[],
    task: Task,
    seen: (task: Task, box: Float64Array) => void,
  ): Promise<void> {
    const { files, passes } = this.#assignment;
    const cloud = await this.#open(task.file);
    let points = 0;
    await cloud.decode(task.span, this.#columns, (raw) => {
      if (!this.#batch || this.#batch.east.length < raw.capacity) this.#batch = createMeasuredBatch(raw, raw.capacity);
      const batch = this.#batch;
      place(batch, raw, cloud.header, task.file, files[task.file], passes);
      for (let m = 0; m < kinds.length; m++) kinds[m].add(states[m], batch);
      seen(task, batch.box);
      points += raw.count;
    });
    if (points === task.span.points) return;
    throw new Fault({
      code: 'points-missing',
      where: cloud.source.name,
      what: 'fewer points were decoded than the file announces',
      found: points,
      expected: task.span.points,
      advice: 'Copy or export the file again',
    });
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
