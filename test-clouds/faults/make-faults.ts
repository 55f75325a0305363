import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { encodeLaz } from '../../src/simulate/encoder/laz-encoder.js';
import type { BrokenFile, Expectation } from './broken-las.js';
import { brokenLas } from './broken-las.js';
import { brokenLaz } from './broken-laz.js';

/** A written file with a known fault. */
export interface FaultyFile {
  path: string;
  name: string;
  /** One sentence: what is wrong. */
  fault: string;
  expected: Expectation;
}

/** Options for writing faulty files. */
export interface FaultOptions {
  seed?: number;
}

/** Writes one small broken file a fault into the folder, folders without a cloud among them, and lists them. */
export function makeFaults(folder: string, options: FaultOptions = {}): FaultyFile[] {
  mkdirSync(folder, { recursive: true });
  const broken = brokenLas(options.seed ?? 1);
  const sound = broken.find(({ name }) => name === 'sound.las') as BrokenFile;
  const files = [...broken, ...brokenLaz(encodeLaz(sound.bytes, { chunkSize: 1000 }))];
  const list = files.map(({ name, fault, expected, bytes }) => {
    const path = join(folder, name);
    writeFileSync(path, bytes);
    return { path, name, fault, expected };
  });
  const empty = 'delivery-empty-folder';
  const addFolder = (name: string, fault: string, word: string) => {
    const path = join(folder, name);
    mkdirSync(path, { recursive: true });
    list.push({ path, name, fault, expected: { how: 'fault', word } });
    return path;
  };
  addFolder('empty-folder/', 'A folder with nothing in it.', empty);
  const notes = addFolder('no-clouds/', 'A folder that holds a letter and no cloud.', empty);
  writeFileSync(join(notes, 'letter.txt'), 'The tiles follow by post.\n');
  return list;
}
