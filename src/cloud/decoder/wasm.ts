import { readFileSync } from 'node:fs';

/** As much of the WebAssembly interface as is used here; the compiler's library has it only together with a browser's. */
interface Engine {
  Module: new (code: Uint8Array) => object;
  Instance: new (module: object, imports: object) => { exports: unknown };
  RuntimeError: new () => Error;
}

const { Module, Instance, RuntimeError } = (globalThis as unknown as { WebAssembly: Engine }).WebAssembly;

/** Thrown where the decoder's code cannot go on, such as when memory is refused. */
export { RuntimeError as DecoderTrap };

/** What the compiled decoder exports; see assembly/index.ts. */
export interface DecoderExports {
  memory: { readonly buffer: ArrayBuffer };
  open(layered: number, parts: number, extraLength: number, version: number): void;
  room(size: number): number;
  start(size: number, points: number, columns: number): number;
  next(): number;
  firstUneven(): number;
  isCoded(layer: number): number;
  layerSize(layer: number): number;
  layerRead(layer: number): number;
  column(index: number): number;
}

/** Beside this file once built; in the build's folder when running from the sources, as tests do. */
const PLACES = ['./laz.wasm', '../../../dist/src/cloud/decoder/laz.wasm'];

let compiled: object | undefined;

/** A new instance of the decoder. It is compiled once a thread, which takes some milliseconds. */
export function instantiate(): DecoderExports {
  compiled ??= new Module(readCode());
  return new Instance(compiled, {}).exports as DecoderExports;
}

function readCode(): Uint8Array {
  let missing: unknown;
  for (const place of PLACES) {
    try {
      return readFileSync(new URL(place, import.meta.url));
    } catch (error) {
      missing = error;
    }
  }
  throw new Error('laz.wasm is not built; run `npm run build`', { cause: missing });
}
