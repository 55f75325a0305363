import { builtWasm } from '../built.js';

/** The part of the WebAssembly interface used here; TypeScript declares it only in the library for browsers. */
interface Engine {
  Module: new (code: Uint8Array) => object;
  Instance: new (module: object, imports: object) => { exports: unknown };
  Memory: new (pages: { initial: number; maximum: number }) => { readonly buffer: ArrayBuffer };
  RuntimeError: new () => Error;
}

const { Module, Instance, Memory, RuntimeError } = (globalThis as unknown as { WebAssembly: Engine }).WebAssembly;

/** Thrown where compiled code cannot continue, for example when memory is refused. */
export { RuntimeError as WasmTrap };

const PAGE = 65_536;

/**
 * Reads and compiles a module of the build, which takes some milliseconds.
 * @param name name of its file, without extension
 * @returns a function that makes instances of the module
 * @throws Error when the module is not built
 */
export function compile<Exports>(name: string): (imports?: object) => Exports {
  const module = new Module(builtWasm(name));
  return (imports = {}) => new Instance(module, imports).exports as Exports;
}

/** Memory that never grows, so that views of it stay valid. */
export function fixedMemory(bytes: number): { readonly buffer: ArrayBuffer } {
  const pages = Math.ceil(bytes / PAGE);
  return new Memory({ initial: pages, maximum: pages });
}
