import { discoverClouds } from '../delivery/discover.js';
import { makeManifest, manifestText } from '../delivery/manifest.js';
import { clean } from '../report/printable.js';
import { writeFileAtomically } from '../report/write.js';
import { ExitCode } from './exit-codes.js';
import type { Streams } from './io.js';

/** Writes the SHA-256 manifest of a delivery, to be delivered with it. */
export async function writeManifest(inputs: readonly string[], path: string, streams: Streams): Promise<ExitCode> {
  const entries = await makeManifest(await discoverClouds(inputs), path);
  await writeFileAtomically(path, manifestText(entries));
  streams.out(`${clean(path)}: SHA-256 of ${entries.length} ${entries.length === 1 ? 'file' : 'files'}\n`);
  return ExitCode.accepted;
}
