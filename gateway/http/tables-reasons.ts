/** The columns of what persons told, and of the stops that still wait for a word. */
import type { ReasonRow, Stop } from '../../src/contract.ts';
import { seconds, utc, type Column } from './csv.ts';

export const REASON_COLUMNS: readonly Column<ReasonRow>[] = [
  { head: 'entry', cell: (r) => r.entry },
  { head: 'chamber', cell: (r) => r.chamber },
  { head: 'from (UTC)', cell: (r) => utc(r.from) },
  { head: 'to as entered (UTC)', cell: (r) => utc(r.to) },
  { head: 'ended (UTC)', cell: (r) => utc(r.until) },
  { head: 'state', cell: (r) => r.state },
  { head: 'reason', cell: (r) => r.reason },
  { head: 'kind of downtime', cell: (r) => r.downtime },
  { head: 'worked on', cell: (r) => r.workedOn.join(' ') },
  { head: 'note', cell: (r) => r.note },
  { head: 'entered by', cell: (r) => r.by },
  { head: 'entered (UTC)', cell: (r) => utc(r.enteredAt) },
  { head: 'taken back by', cell: (r) => r.withdrawnBy },
  { head: 'taken back (UTC)', cell: (r) => utc(r.withdrawnAt) },
];

export const STOP_COLUMNS: readonly Column<Stop>[] = [
  { head: 'chamber', cell: (s) => s.chamber },
  { head: 'from (UTC)', cell: (s) => utc(s.from) },
  { head: 'to (UTC)', cell: (s) => utc(s.to) },
  { head: 'goes on', cell: (s) => s.isOn },
  { head: 'down (s)', cell: (s) => seconds(s.downMs) },
  { head: 'observed', cell: (s) => s.reasons.join('; ') },
];
