import { existsSync } from 'node:fs';
import { type Browser, chromium } from 'playwright-core';

/** Where Debian and others put a Chromium; CHROMIUM names another. */
const PLACES = ['/usr/bin/chromium', '/usr/bin/chromium-browser', '/snap/bin/chromium'];

/**
 * The browser of the end-to-end tests. Where tests run for a verdict (CI is set) a missing browser is a failure; on a
 * developer's machine it is said loudly and the tests are skipped.
 */
const browserPath: string | null =
  [process.env.CHROMIUM, ...PLACES].find((place) => place !== undefined && existsSync(place)) ?? null;

export const mayDoWithout = browserPath === null && !process.env.CI;

if (mayDoWithout) {
  console.warn(
    '\n*** No Chromium was found: the tests of the report page in a browser DO NOT RUN. Install one (Debian: apt-get install chromium) or name it in CHROMIUM. ***\n',
  );
}

export async function launchBrowser(): Promise<Browser> {
  if (browserPath === null) throw new Error('no Chromium was found: apt-get install chromium, or name it in CHROMIUM');
  // no sandbox: tests also run as root in containers, and open only pages made here
  return await chromium.launch({ executablePath: browserPath, args: ['--no-sandbox'] });
}
