import { Fault } from '../../fault.js';
import { BLOCK_POINTS, type Column, type PointBatch } from '../columns.js';
import { type DecoderLayout, decoderLayoutOf, type LazLayout } from './laz-layout.js';
import { type DecoderExports, DecoderTrap, instantiate } from './wasm.js';

export type { LazLayout } from './laz-layout.js';

/** How many bytes of a layer were stored and how many its reader took. */
export interface LayerReport {
  layer: string;
  bytes: number;
  read: number;
}

/** Largest chunk that is decoded; with the usual 50,000 points a chunk has about 200,000 bytes. */
const LARGEST_CHUNK = 256 * 1024 * 1024;

/** Memory that is kept for the next chunk; ordinary ones need about 2 MB. */
const KEPT_MEMORY = 64 * 1024 * 1024;

/** Bits of the wanted layers, numbered as in assembly/layers.ts. */
const WANTED: Partial<Record<Column, number>> = {
  xyz: 1 << 1,
  classification: 1 << 2,
  flags: 1 << 3,
  intensity: 1 << 4,
  scanAngle: 1 << 5,
  userData: 1 << 6,
  pointSourceId: 1 << 7,
  gpsTime: 1 << 8,
  colour: 1 << 9,
  nir: 1 << 10,
  waveform: 1 << 11,
  extra: 1 << 12,
};

const LAYER_NAMES = [
  'returns and xy',
  'z',
  'classification',
  'flags',
  'intensity',
  'scan angle',
  'user data',
  'point source',
  'GPS time',
  'colour',
  'near infrared',
  'waveform',
];
const FIRST_EXTRA_LAYER = 12;

/** What is wrong, by the number that the decoder returns; see assembly/layout.ts. */
const DAMAGE: Record<string, string> = {
  '-1': 'it is shorter than its first point and its list of sizes',
  '-2': 'the sizes of its layers do not add up to its length',
  '-3': 'it states another number of points than its table',
  '-4': 'its data end before its last point',
  '-5': 'it holds something that no writer writes',
};

/**
 * Points a byte of a chunk can stand for at the most: a point takes two symbols or more, and a symbol of an adaptive
 * model at least log2(1 + 2^-15) bits. A larger number is impossible and would occupy the decoder for a long time.
 */
const MOST_POINTS_PER_BYTE = 100_000;

const ADVICE = 'Copy the file again; if that does not help, write it again';

type Mutable<T> = { -readonly [K in keyof T]: T[K] };

/**
 * Decodes LAZ chunks of all point formats into columns. The columns are views on the decoder's memory: they hold until
 * the sink returns.
 */
export class LazDecoder {
  private wasm: DecoderExports = instantiate();
  private layout: LazLayout | undefined;
  private decoderLayout: DecoderLayout | undefined;
  private batch: Mutable<PointBatch> | undefined;
  private asked: ReadonlySet<Column> | undefined;
  private buffer: ArrayBuffer | undefined;

  /**
   * Prepares for the chunks of a file.
   * @param where names the file in faults
   * @throws Fault `laz-items` when the items are not those of the format or in unknown versions.
   */
  open(layout: LazLayout, where: string): void {
    const decoderLayout = decoderLayoutOf(layout, where);
    this.layout = layout;
    this.decoderLayout = decoderLayout;
    this.batch = undefined;
    this.wasm.open(
      Number(decoderLayout.layered),
      decoderLayout.parts,
      decoderLayout.extraLength,
      decoderLayout.version,
    );
  }

  /**
   * Decodes one chunk, a block of at most BLOCK_POINTS points after the other. The sink gets the same batch object each
   * time; `first` counts from the start of the chunk. Only what `columns` names is decoded, where the layout allows.
   * @throws Fault when the chunk is damaged: points of it that the sink received must then be discarded. The decoder can
   * continue with another chunk.
   */
  chunk(
    bytes: Uint8Array,
    points: number,
    columns: ReadonlySet<Column>,
    sink: (batch: PointBatch) => void,
    where: string,
  ): void {
    const decoderLayout = this.decoderLayout;
    if (decoderLayout === undefined) throw new Error('open a layout first');
    if (bytes.length > LARGEST_CHUNK) {
      throw damaged('it is larger than can be decoded', where, `${bytes.length} bytes`, `at most ${LARGEST_CHUNK}`);
    }
    if (points > bytes.length * MOST_POINTS_PER_BYTE) {
      throw damaged('it is too small for its points', where, `${bytes.length} bytes`, `${points} points`);
    }
    if (points < 1) return;
    let wanted = 0;
    for (const column of columns) wanted |= WANTED[column] ?? 0;
    try {
      const room = this.wasm.room(bytes.length);
      new Uint8Array(this.wasm.memory.buffer, room, bytes.length).set(bytes);
      this.check(this.wasm.start(bytes.length, points, wanted), where);
      for (let first = 0; first < points; ) {
        const count = this.check(this.wasm.next(), where);
        const batch = this.view(columns);
        batch.first = first;
        batch.count = count;
        first += count;
        if (first === points) this.checkEnd(where);
        sink(batch);
      }
    } catch (error) {
      if (!(error instanceof DecoderTrap)) throw error;
      this.renew(where);
      throw damaged('it cannot be decoded', where, undefined, undefined, error);
    }
    if (this.wasm.memory.buffer.byteLength > KEPT_MEMORY) this.renew(where);
  }

  /** Makes a new instance: the memory of an instance never shrinks, and after a trap its content is undefined. */
  private renew(where: string): void {
    this.wasm = instantiate();
    if (this.layout) this.open(this.layout, where);
  }

  /** Sizes of the layers that were decoded of the last chunk, and what of them was read: equal in an intact chunk. */
  layers(): LayerReport[] {
    const reports: LayerReport[] = [];
    const count = FIRST_EXTRA_LAYER + (this.decoderLayout?.extraLength ?? 0);
    for (let layer = 0; layer < count; ++layer) {
      if (!this.wasm.isCoded(layer)) continue;
      reports.push({
        layer: this.layerName(layer),
        bytes: this.wasm.layerSize(layer),
        read: this.wasm.layerRead(layer),
      });
    }
    return reports;
  }

  private layerName(layer: number): string {
    if (!this.decoderLayout?.layered) return 'points';
    return LAYER_NAMES[layer] ?? `extra byte ${layer - FIRST_EXTRA_LAYER + 1}`;
  }

  private check(result: number, where: string): number {
    if (result >= 0) return result;
    throw damaged(DAMAGE[result], where);
  }

  /** Checks that every stream was read to its last byte with its last point, as writers end it: this detects most damage. */
  private checkEnd(where: string): void {
    const layer = this.wasm.firstUneven();
    if (layer < 0) return;
    const what = `the data of its ${this.layerName(layer)} do not end with its last point`;
    const [read, size] = [this.wasm.layerRead(layer), this.wasm.layerSize(layer)];
    if (read === size) throw damaged(what, where);
    throw damaged(what, where, `${read} bytes used`, `${size} bytes`);
  }

  /** The batch, on the memory as it is now: memory that has grown leaves older views empty. */
  private view(columns: ReadonlySet<Column>): Mutable<PointBatch> {
    const buffer = this.wasm.memory.buffer;
    if (this.batch !== undefined && this.buffer === buffer && this.asked === columns) return this.batch;
    const decoderLayout = this.decoderLayout as DecoderLayout;
    const has = new Set<Column>([...columns].filter((column) => decoderLayout.columns.has(column)));
    const n = BLOCK_POINTS;
    const at = (index: number) => this.wasm.column(index);
    const u8 = (column: Column, index: number) =>
      has.has(column) ? new Uint8Array(buffer, at(index), n) : new Uint8Array(n);
    const u16 = (column: Column, index: number) =>
      has.has(column) ? new Uint16Array(buffer, at(index), n) : new Uint16Array(n);
    const i32 = (index: number) => (has.has('xyz') ? new Int32Array(buffer, at(index), n) : new Int32Array(n));
    const extraLength = has.has('extra') ? decoderLayout.extraLength : 0;
    const fresh: PointBatch = {
      capacity: n,
      count: 0,
      first: 0,
      has,
      x: i32(0),
      y: i32(1),
      z: i32(2),
      intensity: u16('intensity', 3),
      returnNumber: u8('returns', 4),
      returnCount: u8('returns', 5),
      flags: u8('flags', 6),
      classification: u8('classification', 7),
      scannerChannel: u8('scannerChannel', 8),
      scanAngle: has.has('scanAngle') ? new Int16Array(buffer, at(9), n) : new Int16Array(n),
      userData: u8('userData', 10),
      pointSourceId: u16('pointSourceId', 11),
      gpsTime: has.has('gpsTime') ? new Float64Array(buffer, at(12), n) : new Float64Array(n),
      red: u16('colour', 13),
      green: u16('colour', 14),
      blue: u16('colour', 15),
      nir: u16('nir', 16),
      waveform: has.has('waveform') ? new Uint8Array(buffer, at(17), 29 * n) : new Uint8Array(0),
      extra: new Uint8Array(buffer, at(18), extraLength * n),
      extraLength,
    };
    this.batch = this.batch === undefined ? fresh : Object.assign(this.batch, fresh);
    this.buffer = buffer;
    this.asked = columns;
    return this.batch;
  }
}

function damaged(what: string, where: string, found?: string, expected?: string, cause?: unknown): Fault {
  return new Fault(
    {
      code: 'laz-chunk-damaged',
      what: `a compressed chunk is damaged: ${what}`,
      where,
      found,
      expected,
      advice: ADVICE,
    },
    cause,
  );
}

/** A decoder of its own; one a thread is enough. */
export async function createLazDecoder(): Promise<LazDecoder> {
  return new LazDecoder();
}
