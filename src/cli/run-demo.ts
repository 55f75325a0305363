import { existsSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { Fault } from '../fault.js';
import { REPORT_FORMATS } from '../report/formats.js';
import { writeDemoDelivery } from '../simulate/demo/demo-delivery.js';
import { ExitCode } from './exit-codes.js';
import type { Streams } from './io.js';
import { check } from './run-check.js';

/** Ends with 0 when the demo did what it is for: the delivery is made, checked, and rightly rejected. */
export async function demo(folder: string, streams: Streams): Promise<number> {
  refuseForeignFolder(folder);
  const made = writeDemoDelivery(folder);
  streams.out(
    `\n  An invented quay road was scanned in three passes; faults were planted. What was planted: ${made.readme}\n`,
  );
  streams.out(
    `  Now: cloudassay check ${made.tiles} --spec ${made.spec} --points ${made.points} --zones ${made.zones}\n\n`,
  );
  const out = join(folder, 'report');
  const code = await check(
    [made.tiles],
    {
      spec: made.spec,
      points: made.points,
      zones: made.zones,
      out,
      formats: [...REPORT_FORMATS],
    },
    streams,
  );
  streams.out('  The demo delivery is meant to be rejected: each planted fault is named above.\n');
  return code === ExitCode.rejected ? ExitCode.accepted : ExitCode.notFullyTested;
}

/** Old tiles of an earlier demo are replaced; anything else in the folder is somebody's work. */
function refuseForeignFolder(folder: string): void {
  if (!existsSync(folder)) return;
  const own = existsSync(join(folder, 'README.txt')) || readdirSync(folder).length === 0;
  if (own) return;
  throw new Fault({
    code: 'folder-in-use',
    where: folder,
    what: 'the folder holds something else than a demo delivery',
    advice: 'Name a new folder',
  });
}
