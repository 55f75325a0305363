import type { FaultFacts } from '../fault.js';
import { consoleSummary, terminalOptions } from '../report/console.js';
import { reportJson } from '../report/json.js';
import { clean } from '../report/printable.js';
import { exitCodeOf } from '../report/wording.js';
import { refuseFolder } from '../report/write.js';
import { checkDelivery } from '../run/check-delivery.js';
import { writeReport } from '../run/write-report.js';
import type { CheckFlags } from './check-command.js';
import { ExitCode } from './exit-codes.js';
import { internalErrorText } from './internal-error-text.js';
import type { Streams } from './io.js';
import { progressBar } from './progress.js';

/** Runs a check from the command line. Reports are written whole or not at all. */
export async function check(delivery: string[], flags: CheckFlags, streams: Streams): Promise<number> {
  // Checked before the files are read, which may take hours.
  if (flags.out !== undefined) await refuseFolder(flags.out);
  const internal: FaultFacts[] = [];
  const bar = await progressBar(streams, flags.quiet !== true);
  try {
    const report = await checkDelivery({
      delivery,
      spec: flags.spec,
      points: flags.points ?? null,
      pointsCrs: flags.pointsCrs ?? null,
      zones: flags.zones ?? null,
      tiles: flags.tiles ?? null,
      manifest: flags.manifest ?? null,
      route: flags.route ?? null,
      stationNotation: flags.stationNotation ?? null,
      sections: flags.sections ?? null,
      trajectory: flags.trajectory ?? null,
      trajectoryCrs: flags.trajectoryCrs ?? null,
      trajectoryTime: flags.trajectoryTime ?? null,
      workers: flags.workers,
      sample: flags.sample ?? null,
      timeout: flags.timeout,
      showQueries: flags.showQueries,
      cache: flags.cache ?? null,
      onProgress: (progress) => bar.update(progress),
      onSideFile: (progress) => bar.reading(progress),
      onInternalError: (facts) => internal.push(facts),
      signal: streams.interrupted,
    });
    bar.stop();
    if (flags.json) streams.out(reportJson(report));
    if (!flags.quiet) {
      const terminal = flags.json ? streams.errTerminal : streams.outTerminal;
      (flags.json ? streams.err : streams.out)(consoleSummary(report, terminalOptions(terminal, streams.env)));
    }
    if (flags.out !== undefined) {
      const written = await writeReport(report, flags.out, flags.formats);
      if (!flags.quiet) (flags.json ? streams.err : streams.out)(`  Report: ${clean(reportWords(written))}\n`);
    }
    for (const facts of internal) streams.err(`cloudassay: ${internalErrorText(facts, streams)}\n`);
    // Not even a rejection is reported as one: what failed may be what the rejection rests on.
    return internal.length > 0 ? ExitCode.notFullyTested : exitCodeOf(report.verdict);
  } finally {
    bar.stop();
  }
}

/** The first report file, and how many others were written. */
function reportWords(written: readonly string[]): string {
  const first = written.find((path) => path.endsWith('.html')) ?? written[0];
  const more = written.length - 1;
  return more <= 0 ? first : `${first} and ${more} more ${more === 1 ? 'file' : 'files'} in the same folder`;
}
