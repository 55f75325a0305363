import { existsSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { Fault } from '../fault.js';
import { REPORT_FORMATS } from '../report/formats.js';
import { writeDemoDelivery } from '../simulate/demo/demo-delivery.js';
import { ExitCode } from './exit-codes.js';
import type { Streams } from './io.js';
import { check } from './run-check.js';

/** Makes the demo delivery and checks it. @returns exit code 0 when the delivery was rejected, as it must be */
export async function demo(folder: string, streams: Streams): Promise<number> {
  refuseForeignFolder(folder);
  const made = writeDemoDelivery(folder);
  streams.out(
    `\n  A simulated quay road was scanned in three passes, with known faults. List of the faults: ${made.readme}\n`,
  );
  streams.out(
    `  Now: cloudassay check ${made.tiles} --spec ${made.spec} --points ${made.points} --zones ${made.zones} --trajectory ${made.trajectory} --route ${made.route} --sections 10\n\n`,
  );
  const out = join(folder, 'report');
  const code = await check(
    [made.tiles],
    {
      spec: made.spec,
      points: made.points,
      zones: made.zones,
      trajectory: made.trajectory ? [made.trajectory] : undefined,
      route: made.route ?? undefined,
      sections: 10,
      out,
      formats: [...REPORT_FORMATS],
    },
    streams,
  );
  streams.out('  The demo delivery is meant to be rejected: each planted fault is named above.\n');
  return code === ExitCode.rejected ? ExitCode.accepted : ExitCode.notFullyTested;
}

/** Files of an earlier demo are replaced; a folder with other files is refused. */
function refuseForeignFolder(folder: string): void {
  if (!existsSync(folder)) return;
  const own = existsSync(join(folder, 'README.txt')) || readdirSync(folder).length === 0;
  if (own) return;
  throw new Fault({
    code: 'folder-in-use',
    where: folder,
    what: 'the folder contains other files than a demo delivery',
    advice: 'Give a new folder',
  });
}
