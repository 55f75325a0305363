import { readFileSync } from 'node:fs';

/** Version in package.json: three folders above the compiled file, two above the source. */
export function toolVersion(): string {
  for (const up of ['../../package.json', '../package.json']) {
    try {
      const found = JSON.parse(readFileSync(new URL(up, import.meta.url), 'utf8')) as {
        name?: string;
        version?: string;
      };
      if (found.name === 'cloudassay' && found.version) return found.version;
    } catch {
      // not there: try the other place
    }
  }
  return 'unknown';
}
