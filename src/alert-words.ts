/** An alert's kind as people say it, on screen, in a message and in a table. */
import type { AlertKind } from './contract.ts';

export const KIND_WORDS: Readonly<Record<AlertKind, string>> = {
  burst: 'alarm burst',
  flood: 'alarm flood',
  'common-cause': 'common cause',
  chattering: 'chattering alarm',
  stale: 'stale alarm',
  down: 'down for long',
  waiting: 'done and waiting',
  'no-data': 'no data',
  drift: 'drift',
  'process-check': 'process check',
  'meter-due': 'maintenance due',
  certificate: 'certificate',
  gateway: 'gateway',
};
