import { FIELDS, type Field } from './columns.js';
import { EpochBuilder, SLOT, SLOTS } from './epochs.js';
import type { RawDrive } from './raw-drive.js';

/** Makes a drive of rows with names, for formats in which any value may be missing. A column without any value is none. */
export class RowDrive {
  readonly #name: string;
  readonly #builder: EpochBuilder;
  readonly #row = new Float64Array(SLOTS);
  readonly #seen = new Set<Field>();

  constructor(name: string) {
    this.#name = name;
    this.#builder = new EpochBuilder(name, new Set(FIELDS.filter((field) => field !== 'x' && field !== 'y')));
  }

  get rows(): number {
    return this.#builder.rows;
  }

  /** Takes a row. @throws Fault as EpochBuilder.add */
  add(values: Partial<Record<Field, number>>, place: () => string): void {
    this.#row.fill(Number.NaN);
    this.#row[SLOT.solution] = 0;
    for (const [field, value] of Object.entries(values) as [Field, number][]) {
      if (Number.isNaN(value)) continue;
      this.#row[SLOT[field]] = value;
      this.#seen.add(field);
    }
    this.#builder.add(this.#row, place);
  }

  /** @throws Fault `trajectory-empty` */
  finish(): RawDrive {
    const epochs = this.#builder.finish();
    for (const field of Object.keys(epochs.columns) as Field[])
      if (!this.#seen.has(field)) delete epochs.columns[field];
    return { name: this.#name, fields: this.#seen, epochs };
  }
}
