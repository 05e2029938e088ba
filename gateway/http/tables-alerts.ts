/** The columns of what persons did about alerts, and of mutes. */
import type { AlertAct } from '../../src/alert-act.ts';
import type { Mute } from '../../src/alert-mute.ts';
import { utc, type Column } from './csv.ts';

export const ACT_COLUMNS: readonly Column<AlertAct>[] = [
  { head: 'alert', cell: (a) => a.alert },
  { head: 'time (UTC)', cell: (a) => utc(a.at) },
  { head: 'who', cell: (a) => a.who },
  { head: 'deed', cell: (a) => a.deed },
  { head: 'text', cell: (a) => a.text },
];

export const MUTE_COLUMNS: readonly Column<Mute>[] = [
  { head: 'mute', cell: (m) => m.id },
  { head: 'kind', cell: (m) => m.kind },
  { head: 'chamber', cell: (m) => m.chamber },
  { head: 'shared', cell: (m) => m.shared },
  { head: 'from (UTC)', cell: (m) => utc(m.from) },
  { head: 'until (UTC)', cell: (m) => utc(m.until) },
  { head: 'by', cell: (m) => m.who },
  { head: 'why', cell: (m) => m.why },
  { head: 'made at alert', cell: (m) => m.alert },
  { head: 'ended (UTC)', cell: (m) => utc(m.endedAt) },
  { head: 'ended by', cell: (m) => m.endedBy },
];
