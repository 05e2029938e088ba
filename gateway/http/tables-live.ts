/** The columns of what is true now: the fleet, the server links, alerts with their messages, and recorded values. */
import type { ChamberTile, ServerLine, Trace } from '../../src/contract.ts';
import { isSignalName, SIGNALS } from '../../src/signal.ts';
import type { InboxAlert } from '../../src/alert-inbox.ts';
import type { AlertWithDeliveries } from './answers-port.ts';
import { asRead, ratio, seconds, utc, type Column } from './csv.ts';

export const CHAMBER_COLUMNS: readonly Column<ChamberTile>[] = [
  { head: 'chamber', cell: (c) => c.chamber },
  { head: 'name', cell: (c) => c.name },
  { head: 'bay', cell: (c) => c.bay },
  { head: 'link', cell: (c) => c.link },
  { head: 'last heard (UTC)', cell: (c) => utc(c.heardAt) },
  { head: 'state', cell: (c) => c.state },
  { head: 'reason', cell: (c) => c.reason },
  { head: 'state since (UTC)', cell: (c) => utc(c.stateSince) },
  { head: 'phase', cell: (c) => c.phase },
  { head: 'phase since (UTC)', cell: (c) => utc(c.phaseSince) },
  { head: 'step', cell: (c) => c.step },
  { head: 'steps', cell: (c) => c.stepCount },
  { head: 'recipe', cell: (c) => c.recipe },
  { head: 'load', cell: (c) => c.run?.load ?? null },
  { head: 'likely finish (UTC)', cell: (c) => utc(c.run?.finish?.likely ?? null) },
  { head: 'need', cell: (c) => c.need },
  { head: 'waiting since (UTC)', cell: (c) => utc(c.waitingSince) },
  { head: 'standing alarms', cell: (c) => c.alarms.standing },
  { head: 'worst alarm', cell: (c) => c.alarms.worst?.code ?? null },
];

export const SERVER_COLUMNS: readonly Column<ServerLine>[] = [
  { head: 'server', cell: (s) => s.server },
  { head: 'state', cell: (s) => s.state },
  { head: 'message', cell: (s) => s.message },
  { head: 'server clock minus ours (s)', cell: (s) => seconds(s.skewMs) },
  { head: 'last heard (UTC)', cell: (s) => utc(s.lastHeardAt) },
  { head: 'tags not readable', cell: (s) => s.badTags.length },
  { head: 'values since start', cell: (s) => s.counters.values },
  { head: 'sequence gaps', cell: (s) => s.counters.sequenceGaps },
  { head: 'queue overflows', cell: (s) => s.counters.overflows },
  { head: 'subscriptions rebuilt', cell: (s) => s.counters.rebuilds },
  { head: 'values dropped, all servers', cell: (s) => s.counters.dropped ?? null },
  { head: 'handler errors', cell: (s) => s.counters.handlerErrors },
];

export const ALERT_COLUMNS: readonly Column<InboxAlert>[] = [
  { head: 'alert', cell: (a) => a.id },
  { head: 'kind', cell: (a) => a.kind },
  { head: 'chamber', cell: (a) => a.chamber },
  { head: 'position', cell: (a) => a.position },
  { head: 'severity', cell: (a) => a.severity },
  { head: 'state', cell: (a) => a.state },
  { head: 'started (UTC)', cell: (a) => utc(a.startedAt) },
  { head: 'closed (UTC)', cell: (a) => utc(a.closedAt) },
  { head: 'acknowledged (UTC)', cell: (a) => utc(a.acknowledgedAt) },
  { head: 'acknowledged by', cell: (a) => a.acknowledgedBy },
  { head: 'taken (UTC)', cell: (a) => utc(a.takenAt) },
  { head: 'taken by', cell: (a) => a.takenBy },
  { head: 'muted until (UTC)', cell: (a) => utc(a.mute?.until ?? null) },
  { head: 'comments', cell: (a) => a.acts.filter(({ deed }) => deed === 'commented').length },
  { head: 'alarms', cell: (a) => a.alarms?.count ?? null },
  { head: 'alarms with chatter', cell: (a) => a.alarms?.rawCount ?? null },
  { head: 'most alarms in 10 min', cell: (a) => a.alarms?.peak10Min ?? null },
  { head: 'usual per 10 min', cell: (a) => ratio(a.alarms?.usual?.per10Min ?? null) },
  { head: 'threshold', cell: (a) => a.alarms?.usual?.threshold ?? null },
  { head: 'first alarm', cell: (a) => a.alarms?.firstOut?.code ?? null },
  { head: 'headline', cell: (a) => a.headline },
  { head: 'rule', cell: (a) => a.rule },
  { head: 'cure', cell: (a) => a.cure },
  { head: 'chambers', cell: (a) => a.together.join(' ') },
  { head: 'shares', cell: (a) => a.shares },
  { head: 'part of', cell: (a) => a.partOf },
  { head: 'messages delivered', cell: (a) => messages(a, 'delivered') },
  { head: 'messages waiting', cell: (a) => messages(a, 'waiting') },
  { head: 'messages given up', cell: (a) => messages(a, 'dead') },
];

const messages = ({ deliveries }: AlertWithDeliveries, state: string): number => deliveries.filter((one) => one.state === state).length;

type Sample = { readonly signal: string; readonly at: number; readonly value: number | null };

/** One line per sample; a gap is a line without a value. */
export const SAMPLE_COLUMNS: readonly Column<Sample>[] = [
  { head: 'signal', cell: (s) => s.signal },
  { head: 'unit', cell: (s) => (isSignalName(s.signal) ? SIGNALS[s.signal].unit : '') },
  { head: 'time (UTC)', cell: (s) => utc(s.at) },
  { head: 'value', cell: (s) => asRead(s.value) },
];

export const samplesOf = (trace: Trace): readonly Sample[] =>
  trace.signals.flatMap(({ signal, at, value }) => at.map((time, i) => ({ signal, at: time, value: value[i] ?? null })));
