import { compile } from '../../kernel/wasm.js';

export { WasmTrap as DecoderTrap } from '../../kernel/wasm.js';

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

let make: (() => DecoderExports) | undefined;

/** A new instance of the decoder. It is compiled once a thread. */
export function instantiate(): DecoderExports {
  make ??= compile<DecoderExports>('laz');
  return make();
}
