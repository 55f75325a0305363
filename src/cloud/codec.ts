import { createLazPerf, type LazPerf } from 'laz-perf';
import { Fault } from '../fault.js';
import type { Column } from './columns.js';
import { copyLayers } from './layers.js';
import type { BatchFiller, RecordLayout } from './records.js';

/** Bytes of decoded records kept at a time. */
const OUTPUT_BYTES = 1 << 20;
/** The decoder has no notion of where its input ends: zeros behind it keep a damaged stream from reading further. */
const PADDING = 4096;
/** A chunk larger than this is damage or an attack; ordinary ones have some hundred kilobytes. */
const CHUNK_BYTES_MAX = 512 << 20;

/**
 * Points a byte of a chunk can hold at the most: a symbol costs at least 2^-15 * log2(e) bits in the adaptive coder and a
 * point takes two symbols or more. More is a lie that would keep the decoder busy for good.
 */
const POINTS_PER_BYTE_MAX = 100_000;

/** The decoder of this thread, with its buffers in WebAssembly memory. */
export interface Codec {
  readonly module: LazPerf;
  input: number;
  inputBytes: number;
  output: number;
}

let current: Promise<Codec> | null = null;

/** The codec of this thread; made when first needed, and anew after a fault. */
export function loadCodec(): Promise<Codec> {
  current ??= makeCodec();
  return current;
}

async function makeCodec(): Promise<Codec> {
  const before = HOOKS.map((name) => new Set(process.listeners(name)));
  const creation = createLazPerf();
  // The codec's start code hooks into the whole process and would turn any unhandled rejection into a crash of its own.
  for (const [i, name] of HOOKS.entries()) {
    for (const listener of process.listeners(name)) {
      if (!before[i].has(listener)) process.removeListener(name, listener as () => void);
    }
  }
  const module = await creation;
  return { module, input: 0, inputBytes: 0, output: module._malloc(OUTPUT_BYTES) };
}

const HOOKS = ['uncaughtException', 'unhandledRejection'] as unknown as 'uncaughtException'[];

/**
 * Decodes one chunk and appends its points to `filler`: the one place where compressed bytes become records.
 * @throws Fault laz-chunk-damaged
 */
export function decodeChunk(
  codec: Codec,
  chunk: Uint8Array,
  points: number,
  layout: RecordLayout,
  columns: ReadonlySet<Column>,
  filler: BatchFiller,
  where: string,
): void {
  const { module } = codec;
  if (points > chunk.length * POINTS_PER_BYTE_MAX) {
    throw new Fault({
      code: 'laz-chunk-damaged',
      what: 'a chunk of points is damaged: it is too small for the points it is said to hold',
      where,
      found: `${chunk.length} bytes`,
      expected: `${points} points`,
    });
  }
  reserve(codec, chunk.length, where);
  const input = module.HEAPU8.subarray(codec.input, codec.input + codec.inputBytes);
  let length = chunk.length;
  if (layout.legacy) input.set(chunk);
  else length = copyLayers(chunk, points, layout, columns, input, where);
  input.fill(0, length, length + PADDING);

  const step = layout.recordLength;
  const block = Math.max(1, Math.min(points, Math.floor(OUTPUT_BYTES / step)));
  const decoder = new module.ChunkDecoder();
  try {
    guarded(where, () => decoder.open(layout.format, step, codec.input));
    for (let done = 0; done < points; done += block) {
      const n = Math.min(block, points - done);
      guarded(where, () => {
        for (let i = 0, at = codec.output; i < n; i++, at += step) decoder.getPoint(at);
      });
      // The memory may have grown and moved: look at it anew each time.
      filler.append(new DataView(module.HEAPU8.buffer, codec.output, n * step), n);
    }
  } finally {
    release(decoder);
  }
}

function reserve(codec: Codec, bytes: number, where: string): void {
  const need = bytes + PADDING;
  if (need <= codec.inputBytes) return;
  const refuse = () =>
    new Fault({
      code: 'laz-chunk-damaged',
      what: 'a chunk is too large to be decoded',
      where,
      found: `${bytes} bytes`,
    });
  if (bytes > CHUNK_BYTES_MAX) throw refuse();
  if (codec.input !== 0) codec.module._free(codec.input);
  codec.input = 0;
  codec.inputBytes = 0;
  const size = Math.max(1 << 20, Math.ceil(need * 1.25));
  guarded(where, () => {
    codec.input = codec.module._malloc(size);
  });
  if (codec.input === 0) throw refuse();
  codec.inputBytes = size;
}

/** Runs codec code; whatever it throws, even a bare number, means damage, and the instance is not used again. */
function guarded(where: string, work: () => void): void {
  try {
    work();
  } catch (error) {
    current = null;
    const text = error instanceof Error ? error.message : `decoder exception ${String(error)}`;
    throw new Fault(
      {
        code: 'laz-chunk-damaged',
        what: `a chunk of points cannot be decoded (${text})`,
        where,
        advice: 'Copy the file again.',
      },
      error,
    );
  }
}

function release(decoder: { delete(): void }): void {
  try {
    decoder.delete();
  } catch {
    // After a trap the instance is given up anyway.
    current = null;
  }
}
