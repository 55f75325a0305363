import { Fault } from '../fault.js';
import { FileSource, fileIdentity } from './source-file.js';
import { type HttpPatience, HttpSource } from './source-http.js';

/** A local file or remote object whose bytes can be read in ranges. */
export interface Source {
  /** The address given by the user, to open the source again. May contain secrets (signed URLs): not for messages. */
  readonly address: string;
  /** Last part of the path, for reports. */
  readonly name: string;
  /** Bytes, as at opening. */
  readonly size: number;
  /** Changes when the content may have changed: size, time of modification and inode, or size and the server's tag. */
  readonly identity: string;
  /**
   * Bytes begin to end (exclusive), exactly those; in `into` when that is large enough, else in memory of their own. The
   * result may be shared: do not write to it.
   * @throws Fault when bytes are missing, cannot be read, or have changed since opening
   */
  read(begin: number, end: number, into?: Uint8Array): Promise<Uint8Array>;
  close(): Promise<void>;
}

/**
 * Opens a path, a file: URL, or an http(s): URL.
 * @throws Fault file-missing, file-unreadable, address-unsupported, and what a server answers (see HttpSource)
 */
export async function openSource(address: string, patience?: HttpPatience): Promise<Source> {
  const path = await localPath(address);
  return path === null ? HttpSource.open(address, patience) : FileSource.open(path);
}

/** The `identity` that a source of this address would have now. @throws Fault as openSource */
export async function identityOf(address: string, patience?: HttpPatience): Promise<string> {
  const path = await localPath(address);
  return path === null ? HttpSource.identityOf(address, patience) : fileIdentity(path);
}

/** The path of a local file; null for an http(s): URL. */
async function localPath(address: string): Promise<string | null> {
  const scheme = /^([a-z][a-z0-9+.-]+):\/\//i.exec(address)?.[1].toLowerCase();
  if (scheme === undefined) return address;
  if (scheme === 'http' || scheme === 'https') return null;
  if (scheme === 'file') return (await import('node:url')).fileURLToPath(address);
  throw new Fault({
    code: 'address-unsupported',
    what: `addresses starting with ${scheme}:// cannot be read yet`,
    where: address.replace(/\/\/[^/@]*@/, '//').replace(/[?#].*$/s, ''),
    advice: 'Use a local path or an http(s) URL; a signed URL works for private objects.',
  });
}
