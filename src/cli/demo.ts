import { resolve } from 'node:path';
import type { Command } from 'commander';
import type { Streams } from './io.js';

/** Adds the command `demo`. */
export function addDemo(program: Command, streams: Streams, finish: (code: number) => void): void {
  program
    .command('demo')
    .description('make a small simulated delivery with known faults, check it, and write the report')
    .argument('[folder]', 'folder of the demo', 'demo-delivery')
    .action(async (folder: string) => {
      const { demo } = await import('./run-demo.js');
      finish(await demo(resolve(folder), streams));
    });
}
