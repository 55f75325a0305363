import type { Command } from 'commander';
import { transformToWgs84 } from '../crs/wgs84.js';
import { Fault } from '../fault.js';
import { consoleSummary, terminalOptions } from '../report/console.js';
import { reportJson } from '../report/json.js';
import { exitCodeOf } from '../report/wording.js';
import { REPORT_FORMATS, type ReportFormat, refuseFolder, writeReport } from '../report/write.js';
import { checkDelivery } from '../run/check-delivery.js';
import type { Streams } from './io.js';
import { progressBar } from './progress.js';

interface CheckFlags {
  spec: string;
  points?: string;
  pointsCrs?: string;
  zones?: string;
  tiles?: string;
  manifest?: string;
  out?: string;
  workers?: number;
  sample?: number;
  cache?: string;
  formats: ReportFormat[];
  quiet?: boolean;
  json?: boolean;
}

export function addCheck(program: Command, streams: Streams, finish: (code: number) => void): void {
  program
    .command('check')
    .description('measure a delivery, judge it against an acceptance spec, and write the report')
    .argument('<delivery...>', 'files, folders, patterns or URLs of LAS, LAZ and COPC clouds')
    .requiredOption('--spec <file>', 'acceptance spec (JSON)')
    .option('--points <file>', 'survey points: check and control points (CSV or GeoJSON)')
    .option('--points-crs <system>', "system of the points, if not the cloud's: EPSG:code, or a file with WKT")
    .option('--zones <file>', 'named areas (GeoJSON polygons)')
    .option('--tiles <file>', 'tile index: the polygon of every tile, named like its file (GeoJSON)')
    .option('--manifest <file>', 'SHA-256 manifest made before the transfer')
    .option('--out <folder>', 'folder for the report; without it nothing is written')
    .option('--workers <n>', 'worker threads; as many as there are cores unless given', positiveInteger)
    .option('--sample <share>', 'quick look at a share of the points, 0 to 1; never accepts', shareOfPoints)
    .option('--cache <folder>', 'keep measured files here, so that a re-delivery reads only what changed')
    .option('--formats <list>', `report formats, of ${REPORT_FORMATS.join(', ')}`, formatList, ['json', 'html'])
    .option('--quiet', 'print nothing but faults')
    .option('--json', 'print report.json on standard output; words go to standard error')
    .addHelpText(
      'after',
      '\nExit code: 0 accepted, 1 rejected, 2 wrong usage, a bad spec or an unreadable side file, 3 not fully tested.',
    )
    .action(async (delivery: string[], flags: CheckFlags) => finish(await check(delivery, flags, streams)));
}

/** Runs a check from the command line. Ctrl-C stops it; reports are written whole or not at all. */
export async function check(delivery: string[], flags: CheckFlags, streams: Streams): Promise<number> {
  // Before hours of reading, not behind them.
  if (flags.out !== undefined) await refuseFolder(flags.out);
  const stop = new AbortController();
  const interrupted = () =>
    stop.abort(
      new Fault({ code: 'interrupted', where: 'check', what: 'stopped before the end; no report was written' }),
    );
  process.once('SIGINT', interrupted);
  process.once('SIGTERM', interrupted);
  const bar = progressBar(streams, flags.quiet !== true);
  try {
    const report = await checkDelivery({
      delivery,
      spec: flags.spec,
      points: flags.points ?? null,
      pointsCrs: flags.pointsCrs ?? null,
      zones: flags.zones ?? null,
      tiles: flags.tiles ?? null,
      manifest: flags.manifest ?? null,
      workers: flags.workers,
      sample: flags.sample ?? null,
      cache: flags.cache ?? null,
      onProgress: (progress) => bar.update(progress),
      signal: stop.signal,
    });
    bar.stop();
    if (flags.json) streams.out(reportJson(report));
    if (!flags.quiet) {
      const terminal = flags.json ? streams.errTerminal : streams.outTerminal;
      (flags.json ? streams.err : streams.out)(consoleSummary(report, terminalOptions(terminal, streams.env)));
    }
    if (flags.out !== undefined) {
      const written = await writeReport(report, flags.out, flags.formats, {
        toWgs84: transformToWgs84(report.delivery.crs),
      });
      if (!flags.quiet) (flags.json ? streams.err : streams.out)(`  Report: ${reportWords(written)}\n`);
    }
    return exitCodeOf(report.verdict);
  } finally {
    bar.stop();
    process.removeListener('SIGINT', interrupted);
    process.removeListener('SIGTERM', interrupted);
  }
}

/** The file to open, and how many lie beside it. */
function reportWords(written: readonly string[]): string {
  const first = written.find((path) => path.endsWith('.html')) ?? written[0];
  const more = written.length - 1;
  return more <= 0 ? first : `${first} and ${more} more ${more === 1 ? 'file' : 'files'} beside it`;
}

export function positiveInteger(text: string): number {
  const value = Number(text);
  if (Number.isInteger(value) && value > 0 && value <= 1024) return value;
  throw new Fault({
    code: 'usage',
    where: '--workers',
    what: 'the number of workers must be a whole number from 1 to 1024',
    found: text,
  });
}

function shareOfPoints(text: string): number {
  const value = Number(text);
  if (value > 0 && value < 1) return value;
  throw new Fault({ code: 'usage', where: '--sample', what: 'the share must lie between 0 and 1', found: text });
}

function formatList(text: string): ReportFormat[] {
  const names = text.split(',').map((name) => name.trim());
  const unknown = names.find((name) => !REPORT_FORMATS.includes(name as ReportFormat));
  if (unknown === undefined) return names as ReportFormat[];
  throw new Fault({
    code: 'usage',
    where: '--formats',
    what: `there is no report format ${unknown}`,
    expected: REPORT_FORMATS.join(', '),
  });
}
