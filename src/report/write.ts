import { access, constants, mkdtemp, open, rm, rmdir, stat } from 'node:fs/promises';
import { dirname, join, resolve } from 'node:path';
import { Fault } from '../fault.js';
import { exists, makeFolder } from '../folder.js';
import { beginDraft, endDraft, removeStaleDrafts, renameDrafts } from '../temporary-files.js';
import { csvFiles } from './csv.js';
import type { ReportFormat } from './formats.js';
import { reportGeoJson, type ToWgs84 } from './geojson.js';
import { reportHtml } from './html.js';
import { reportJson } from './json.js';
import { reportJUnit } from './junit.js';
import { reportMarkdown } from './markdown.js';
import type { Report } from './model.js';
import { printable, printableJson } from './printable.js';
import { reportQuality } from './quality-json.js';

export interface WriteOptions {
  /** Converts coordinates of the cloud to WGS 84; GeoJSON is in the coordinate system of the cloud where it is null or absent. */
  toWgs84?: ToWgs84 | null;
}

/**
 * Writes the report into a folder in the given formats; the folder is made when it does not exist. All files are first written
 * under temporary names and renamed when every one is complete, so that an error leaves the earlier report unchanged.
 * @returns the paths written, in the order of the formats
 * @throws Fault when the folder cannot be written to
 */
export async function writeReport(
  report: Report,
  folder: string,
  formats: readonly ReportFormat[],
  options: WriteOptions = {},
): Promise<string[]> {
  let json: string | null = null;
  const jsonOnce = () => (json ??= reportJson(report));
  const files = formats.flatMap((format) => reportFiles(report, format, options, jsonOnce));
  try {
    await makeFolder(folder);
  } catch (error) {
    throw writeFault(error, folder);
  }
  return writeTogether(files.map(({ name, text }) => ({ path: join(folder, name), text })));
}

/**
 * Tests whether a report could be written into the folder, and leaves nothing there.
 * @throws Fault that says why it could not
 */
export async function refuseFolder(folder: string): Promise<void> {
  for (let path = resolve(folder); ; path = dirname(path)) {
    try {
      if (!(await stat(path)).isDirectory()) throw Object.assign(new Error('no folder'), { code: 'ENOTDIR' });
      await access(path, constants.W_OK | constants.X_OK);
      // Some folders, such as those of /proc, give the right to write and take no file.
      return await rmdir(await mkdtemp(join(path, '.cloudassay-')));
    } catch (error) {
      // A folder that does not exist will be made in the folder above it.
      const missing = (error as NodeJS.ErrnoException).code === 'ENOENT' && !(await exists(path));
      if (!missing || dirname(path) === path) throw writeFault(error, folder);
    }
  }
}

/** Names and contents of the files of one format. */
function reportFiles(
  report: Report,
  format: ReportFormat,
  options: WriteOptions,
  json: () => string,
): { name: string; text: string }[] {
  switch (format) {
    case 'json':
      return [{ name: 'report.json', text: json() }];
    case 'html':
      return [{ name: 'report.html', text: reportHtml(report, json()) }];
    case 'junit':
      return [{ name: 'junit.xml', text: printable(reportJUnit(report)) }];
    case 'csv':
      return csvFiles(report);
    case 'geojson':
      return [{ name: 'report.geojson', text: reportGeoJson(report, options.toWgs84 ?? null) }];
    case 'md':
      return [{ name: 'report.md', text: reportMarkdown(report) }];
    case 'quality':
      return [{ name: 'quality.json', text: printableJson(reportQuality(report)) }];
  }
}

/**
 * Writes one file under a temporary name in the same folder, flushes it to disk and renames it, so that a reader sees the old
 * file or the new one, never a part of it.
 * @throws Fault when it cannot be written; the temporary file is then removed
 */
export async function writeFileAtomically(path: string, text: string): Promise<void> {
  await writeTogether([{ path, text }]);
}

async function writeTogether(files: readonly { path: string; text: string }[]): Promise<string[]> {
  const staged: { draft: string; path: string }[] = [];
  let current = '';
  for (const folder of new Set(files.map(({ path }) => dirname(path)))) await removeStaleDrafts(folder);
  try {
    for (const { path, text } of files) {
      current = path;
      const draft = beginDraft(path);
      staged.push({ draft, path });
      const handle = await open(draft, 'wx');
      try {
        await handle.writeFile(text, 'utf8');
        await handle.sync();
      } finally {
        await handle.close();
      }
    }
    // Without a pause: a signal must not leave some files of this report and some of the last one.
    renameDrafts(staged, (path) => {
      current = path;
    });
  } catch (error) {
    await Promise.all(staged.map(({ draft }) => rm(draft, { force: true }).catch(() => undefined)));
    for (const { draft } of staged) endDraft(draft);
    throw writeFault(error, current);
  }
  return files.map(({ path }) => path);
}

function writeFault(error: unknown, path: string): Fault {
  switch ((error as NodeJS.ErrnoException | null)?.code) {
    case 'EACCES':
    case 'EPERM':
    case 'EROFS':
      return new Fault(
        {
          code: 'report-folder-read-only',
          what: 'the report cannot be written here',
          where: path,
          advice: 'Choose a folder you may write to',
        },
        error,
      );
    case 'ENOSPC':
    case 'EDQUOT':
      return new Fault(
        {
          code: 'report-disk-full',
          what: 'the disk is full, the report was not written',
          where: path,
          advice: 'Free some space or choose another folder',
        },
        error,
      );
    case 'ENOENT':
      return new Fault(
        {
          code: 'report-folder-missing',
          what: 'the folder for the report does not exist and cannot be made',
          where: path,
          advice: 'Choose another folder',
        },
        error,
      );
    case 'EEXIST':
    case 'ENOTDIR':
    case 'EISDIR':
      return new Fault(
        {
          code: 'report-path-taken',
          what: 'a file has the name of a folder that is needed, or a folder that of a file',
          where: path,
          advice: 'Choose another folder for the report',
        },
        error,
      );
    default:
      return Fault.from(error, path);
  }
}
