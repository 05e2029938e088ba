/**
 * The columns of each CSV export. A head names its unit; nothing is shown without the base and coverage that belong to it.
 */
import type { StateInterval } from '../../src/contract.ts';
import { EQUIPMENT_STATES } from '../../src/equipment.ts';
import type { Share, SeenNumbers } from '../../src/numbers.ts';
import { seenMs } from '../../src/seen.ts';
import { estimated, hours, ratio, seconds, utc, type Column } from './csv.ts';

export const INTERVAL_COLUMNS: readonly Column<StateInterval>[] = [
  { head: 'chamber', cell: (i) => i.chamber },
  { head: 'from (UTC)', cell: (i) => utc(i.from) },
  { head: 'to (UTC)', cell: (i) => utc(i.to) },
  { head: 'duration (s)', cell: (i) => seconds(i.to - i.from) },
  { head: 'state', cell: (i) => i.state },
  { head: 'reason', cell: (i) => i.reason },
  { head: 'boundary known from', cell: (i) => i.source },
  { head: 'run', cell: (i) => i.run },
  { head: 'told by entry', cell: (i) => i.entry },
  { head: 'kind of downtime', cell: (i) => i.downtime },
  { head: 'observed state', cell: (i) => i.observed?.state ?? i.state },
  { head: 'observed reason', cell: (i) => i.observed?.reason ?? i.reason },
];

export const NUMBER_COLUMNS: readonly Column<SeenNumbers>[] = [
  { head: 'chamber', cell: (n) => n.chamber ?? 'fleet' },
  { head: 'chambers', cell: (n) => n.chambers },
  { head: 'from (UTC)', cell: (n) => utc(n.from) },
  { head: 'to (UTC)', cell: (n) => utc(n.to) },
  ...EQUIPMENT_STATES.map((state) => ({ head: `${state} (h)`, cell: (n: SeenNumbers) => hours(seenMs(state, n.time)) })),
  ...shareColumns<SeenNumbers>('total utilization', (n) => n.totalUtilization),
  ...shareColumns<SeenNumbers>('operational utilization', (n) => n.operationalUtilization),
  ...shareColumns<SeenNumbers>('total uptime', (n) => n.totalUptime),
  ...shareColumns<SeenNumbers>('operational uptime', (n) => n.operationalUptime),
  { head: 'loads completed', cell: (n) => n.loads.completed },
  { head: 'runs aborted', cell: (n) => n.loads.aborted },
  { head: 'runs interrupted', cell: (n) => n.loads.interrupted },
  { head: 'runs not fully observed', cell: (n) => n.loads.notFullyObserved },
  { head: 'engineering runs', cell: (n) => n.loads.engineering },
  { head: 'alarm activations', cell: (n) => n.alarms.activations },
  { head: 'alarms per 10 min of observed time', cell: (n) => estimated(n.alarms.per10Min) },
  { head: 'most alarms in 10 min', cell: (n) => n.alarms.peak10Min },
];

export function shareColumns<Row>(name: string, share: (row: Row) => Share): Column<Row>[] {
  return [
    { head: `${name} (0..1)`, cell: (n) => ratio(share(n).value) },
    { head: `${name} low`, cell: (n) => ratio(share(n).low) },
    { head: `${name} high`, cell: (n) => ratio(share(n).high) },
    { head: `${name} base`, cell: (n) => share(n).base },
    { head: `${name} base (h)`, cell: (n) => hours(share(n).baseMs) },
    { head: `${name} coverage (0..1)`, cell: (n) => ratio(share(n).coverage) },
  ];
}
