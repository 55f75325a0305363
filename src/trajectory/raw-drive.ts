import type { StatedTime } from '../delivery/time-systems.js';
import type { Field } from './columns.js';
import type { Epochs } from './epochs.js';

/** What a file of a trajectory holds, as the file has it: nothing is converted yet. */
export interface RawFile {
  drives: RawDrive[];
  /** Coordinate system that the file states; null where it states none. */
  crs: string | null;
  /** What the times count, as the file states it or as its format has it. */
  time: StatedTime | null;
  /** Whether the file states the unit of its angles. */
  anglesStated: boolean;
  /** Factors to metres, degrees and seconds by field, where a unit is stated; "foot": a foot of unknown kind. */
  factors: Partial<Record<Field, number | 'foot'>>;
  /** What the report says of the file. */
  notes: string[];
}

/** A drive in the units of its file. */
export interface RawDrive {
  name: string;
  fields: ReadonlySet<Field>;
  epochs: Epochs;
}

/** Reads a format piece by piece. */
export interface FormatReader {
  /** Takes the next bytes, which must not be kept. @throws Fault where they cannot be read */
  add(piece: Uint8Array): void;
  /** All bytes were added. @throws Fault */
  finish(): RawFile;
}
