import { builtWasm } from '../built.js';

/** As much of the WebAssembly interface as is used here; the compiler's library has it only together with a browser's. */
interface Engine {
  Module: new (code: Uint8Array) => object;
  Instance: new (module: object, imports: object) => { exports: unknown };
  Memory: new (pages: { initial: number; maximum: number }) => { readonly buffer: ArrayBuffer };
  RuntimeError: new () => Error;
}

const { Module, Instance, Memory, RuntimeError } = (globalThis as unknown as { WebAssembly: Engine }).WebAssembly;

/** Thrown where compiled code cannot go on, such as when memory is refused. */
export { RuntimeError as WasmTrap };

const PAGE = 65_536;

/**
 * Reads and compiles a module of the build, which takes some milliseconds.
 * @param name of its file, without the ending
 * @returns what makes instances of it
 */
export function compile<Exports>(name: string): (imports?: object) => Exports {
  const module = new Module(builtWasm(name));
  return (imports = {}) => new Instance(module, imports).exports as Exports;
}

/** Memory that never grows, so that views on it hold. */
export function fixedMemory(bytes: number): { readonly buffer: ArrayBuffer } {
  const pages = Math.ceil(bytes / PAGE);
  return new Memory({ initial: pages, maximum: pages });
}
