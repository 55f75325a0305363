import type { Command } from 'commander';
import { TIME_SYSTEM_NAMES } from '../delivery/time-systems.js';
import { Fault } from '../fault.js';
import { REPORT_FORMATS, type ReportFormat } from '../report/formats.js';
import type { Streams } from './io.js';
import { notation, type StationNotation, sectionLength } from './station-options.js';
import { TIMEOUT_HELP, timeoutSeconds } from './timeout.js';

/** Options of the command `check`, as parsed. */
export interface CheckFlags {
  spec: string;
  points?: string;
  pointsCrs?: string;
  zones?: string;
  tiles?: string;
  manifest?: string;
  route?: string;
  stationNotation?: StationNotation;
  sections?: number;
  trajectory?: string[];
  trajectoryCrs?: string;
  trajectoryTime?: string;
  out?: string;
  workers?: number;
  sample?: number;
  timeout?: number;
  showQueries?: boolean;
  cache?: string;
  formats: ReportFormat[];
  quiet?: boolean;
  json?: boolean;
}

/** Adds the command `check`. */
export function addCheck(program: Command, streams: Streams, finish: (code: number) => void): void {
  program
    .command('check')
    .description('measure a delivery, judge it against an acceptance spec, and write the report')
    .argument('<delivery...>', 'files, folders, patterns or URLs of LAS, LAZ and COPC clouds')
    .requiredOption('--spec <file>', 'acceptance spec (JSON)')
    .option('--points <file>', 'survey points: check and control points (CSV or GeoJSON)')
    .option('--points-crs <system>', "system of the points, if not the cloud's: EPSG:code, or a file with WKT")
    .option('--zones <file>', 'named areas (GeoJSON polygons)')
    .option('--tiles <file>', 'tile index: a polygon for every tile, with the name of its file (GeoJSON)')
    .option('--manifest <file>', 'SHA-256 manifest made before the transfer')
    .option('--route <file>', 'planned route for stations and offsets (LandXML 1.2, GeoJSON lines, CSV of stations)')
    .option('--station-notation <notation>', "how stations are written: '3+250', 'km 3.250' or '41+57.95'", notation)
    .option('--sections <metres>', 'length of the sections of the route to report by (default: 100)', sectionLength)
    .option(
      '--trajectory <files...>',
      'trajectory of the vehicle, one file or several: CSV, GPX, NMEA, Moving Features JSON',
    )
    .option('--trajectory-crs <system>', "system of its positions, if not the cloud's: as for the points")
    .option('--trajectory-time <system>', 'what its times count, if it is not known: gps-week-seconds, utc, ...')
    .option('--out <folder>', 'folder for the report (default: no report is written)')
    .option('--workers <n>', 'number of worker threads (default: the number of cores)', positiveInteger)
    .option(
      '--sample <share>',
      'read only this share of the points, 0 to 1; the delivery is then never accepted',
      shareOfPoints,
    )
    .option('--timeout <seconds>', TIMEOUT_HELP, timeoutSeconds)
    .option(
      '--show-queries',
      'show the queries of addresses (after the ?), which may hold keys and are left out otherwise',
    )
    .option('--cache <folder>', 'folder for measured results, so that a re-delivery reads only files that changed')
    .option('--formats <list>', `report formats, comma-separated: ${REPORT_FORMATS.join(', ')}`, formatList, [
      'json',
      'html',
    ])
    .option('--quiet', 'print only program errors')
    .option('--json', 'print report.json on standard output and the summary on standard error')
    .addHelpText(
      'after',
      [
        '',
        'The spec and the files given with --points, --zones, --tiles, --manifest and --route are regular files of 256 MiB at most;',
        'a trajectory may be larger. For one of them - stands for standard input.',
        `Times of a trajectory: ${TIME_SYSTEM_NAMES}; a week is added as in "gps-week-seconds, week 2347".`,
        '',
        'Exit code: 0 accepted, 1 rejected, 2 wrong usage, a bad spec or an unreadable side file, 3 not fully tested.',
      ].join('\n'),
    )
    .action(async (delivery: string[], flags: CheckFlags) => {
      const { check } = await import('./run-check.js');
      finish(await check(delivery, flags, streams));
    });
}

function positiveInteger(text: string): number {
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
  throw new Fault({ code: 'usage', where: '--sample', what: 'the share must be between 0 and 1', found: text });
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
