import type { TransferredFile } from '../delivery/manifest.js';
import type { Check } from './contract/check.js';
import { limitsOf, type Metrics, metric, NONE_ALLOWED } from './contract/metric.js';
import { figure, plural, undetermined } from './contract/wording.js';

export type TransferIntegrityOptions = Record<never, never>;

const WORDS: Record<Exclude<TransferredFile['state'], 'same'>, string> = {
  changed: 'not the bytes that were handed over',
  missing: 'listed, but not received',
  unreadable: 'received, but cannot be read',
  added: 'received, but not listed',
};

/** The figures, and the limits they are held against. */
const metrics = {
  changed: metric('changed', 'count', NONE_ALLOWED),
  missing: metric('missing', 'count', NONE_ALLOWED),
  added: metric('added', 'count', NONE_ALLOWED),
  listed: metric('listed', 'count'),
  same: metric('same', 'count'),
} satisfies Metrics;

export const transferIntegrity = {
  id: 'transfer-integrity',
  title: 'Files received are identical to the files sent',
  why: 'A copy that was cut short or changed on the way may still open; only checksums made before the transfer show it.',
  sources: [
    { standard: 'FIPS 180-4', clause: 'SHA-256' },
    {
      standard: 'common practice',
      note: 'a checksum manifest in the text form of sha256sum travels with the delivery',
    },
  ],
  schema: { properties: {}, required: [] },
  wholeFiles: true,
  metrics,
  quality: 'DQ_FormatConsistency',
  sideFiles: () => ['manifest'],
  needs: () => ({}),
  explain: () =>
    'Every file listed in the manifest must have been received with the bytes it had, and no cloud may be there that is not listed.',

  judge(_facts, requirement, { delivery: { transfer } }) {
    if (!transfer) {
      return undetermined('No manifest was handed in (--manifest), so the transfer could not be tested.', {
        advice: ['Have a manifest made before the transfer: cloudassay inspect DELIVERY --manifest FILE.'],
      });
    }
    const count = (...states: TransferredFile['state'][]) =>
      transfer.filter((file) => states.includes(file.state)).length;
    const wrong = transfer.filter((file) => file.state !== 'same');
    return {
      state: wrong.length === 0 ? 'pass' : 'fail',
      summary:
        wrong.length === 0
          ? `${plural(transfer.length, 'file')} listed in the manifest, all received unchanged.`
          : `${plural(wrong.length, 'file')} of ${transfer.length} ${wrong.length === 1 ? 'differs' : 'differ'} from the manifest: ${wrong[0].name} is ${WORDS[wrong[0].state as keyof typeof WORDS]}${wrong.length > 1 ? ', and others' : ''}.`,
      measured: {
        listed: figure(transfer.length - count('added'), 'count'),
        same: figure(count('same'), 'count'),
        changed: figure(count('changed', 'unreadable'), 'count'),
        missing: figure(count('missing'), 'count'),
        added: figure(count('added'), 'count'),
      },
      limits: limitsOf(metrics, requirement),
      evidence: [
        {
          kind: 'table',
          title: 'Files that differ from the manifest',
          columns: [
            { key: 'file', title: 'file' },
            { key: 'state', title: 'state' },
            { key: 'expected', title: 'SHA-256 handed over' },
            { key: 'found', title: 'SHA-256 received' },
          ],
          rows: wrong.map(({ name, state, expected, found }) => [
            name,
            WORDS[state as keyof typeof WORDS],
            expected,
            found,
          ]),
        },
      ],
      advice: wrong.length === 0 ? [] : ['Transfer the files named again before looking into anything else.'],
    };
  },
} satisfies Check<TransferIntegrityOptions>;
