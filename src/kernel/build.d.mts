/** A module of WebAssembly: name of the output, folder of the sources below src, options of its own. */
interface WasmModule {
  name: string;
  folder: string;
  more: string[];
}

export function digestOfFiles(files: Record<string, string>): string;
export function isCompiledFrom(output: string, digest: string): boolean;
export function buildWasm(
  dist: string,
  compiler?: (module: WasmModule, output: string) => Promise<void>,
): Promise<string[]>;
