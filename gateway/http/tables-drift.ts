/** The columns of drift and counters. Figures are in the unit that stands beside them, hours in hours. */
import type { CounterTotal, MaintenanceLine } from '../../src/counter-answer.ts';
import type { DriftMeasureLine, DriftPoint } from '../../src/drift-answer.ts';
import type { DriftVerdictRow } from './answers-port.ts';
import { asRead, hours, measured, utc, type Column } from './csv.ts';

const shown = (si: number | null, gain: number): number | null => (si === null ? null : measured(si * gain));
/** The chart can be computed again from its points. */
const point = (si: number | null, gain: number): number | null => (si === null ? null : asRead(si * gain));

export const DRIFT_COLUMNS: readonly Column<DriftVerdictRow>[] = [
  { head: 'chamber', cell: (r) => r.chamber },
  { head: 'figure', cell: (r) => r.cell.name },
  { head: 'recipe', cell: (r) => r.cell.recipe },
  { head: 'gas line', cell: (r) => r.cell.line },
  { head: 'gas', cell: (r) => r.cell.gas },
  { head: 'verdict', cell: (r) => r.cell.state },
  { head: 'good runs seen', cell: (r) => r.cell.learned?.runs ?? null },
  { head: 'good runs needed', cell: (r) => r.cell.learned?.needed ?? null },
  { head: 'unit', cell: (r) => r.symbol },
  { head: 'value', cell: (r) => shown(r.cell.value, r.gain) },
  { head: 'usual', cell: (r) => shown(r.cell.usual, r.gain) },
  { head: 'run-to-run sigma', cell: (r) => shown(r.cell.sigma, r.gain) },
  { head: 'since (UTC)', cell: (r) => utc(r.cell.since) },
  { head: 'runs since', cell: (r) => r.cell.runsSince },
  { head: 'sentence', cell: (r) => r.cell.sentence },
];

export const driftPointColumns = (measure: DriftMeasureLine | null): Column<DriftPoint>[] => [
  { head: 'run', cell: (p) => p.run },
  { head: 'ended (UTC)', cell: (p) => utc(p.at) },
  { head: `${measure?.label ?? 'figure'} (${measure?.symbol ?? '1'})`, cell: (p) => point(p.value, measure?.gain ?? 1) },
  { head: 'part in the chart', cell: (p) => p.role },
  { head: 'moving average', cell: (p) => point(p.level, measure?.gain ?? 1) },
  { head: 'rules that spoke', cell: (p) => p.reasons.join('; ') },
];

const amount = ({ counted }: { readonly counted: CounterTotal['counted'] }, value: number): number | null =>
  counted === 'runs' ? value : hours(value);

export const COUNTER_COLUMNS: readonly Column<CounterTotal>[] = [
  { head: 'chamber', cell: (c) => c.chamber },
  { head: 'counted', cell: (c) => c.counted },
  { head: 'own count (h or runs)', cell: (c) => amount(c, c.own) },
  { head: 'since (UTC)', cell: (c) => utc(c.since) },
  { head: 'not observed meanwhile (h)', cell: (c) => hours(c.unobservedMs) },
  { head: 'machine meter gained (h or cycles)', cell: (c) => (c.meter === null ? null : amount(c, c.meter.gained)) },
  { head: 'own count of the same time (h or runs)', cell: (c) => (c.meter === null ? null : amount(c, c.meter.own)) },
  { head: 'machine meter wholly known', cell: (c) => c.meter?.isWhole ?? null },
  {
    head: 'machine meter cleared, set or wrapped',
    cell: (c) => c.meter?.events.map(({ kind, at }) => `${kind} ${utc(at)}`).join('; ') ?? null,
  },
  {
    head: 'machine meter now, raw (h or cycles)',
    cell: (c) => (c.meterNow === null ? null : amount(c, c.counted === 'runs' ? c.meterNow : 1000 * c.meterNow)),
  },
];

export const MAINTENANCE_COLUMNS: readonly Column<MaintenanceLine>[] = [
  { head: 'chamber', cell: (m) => m.chamber },
  { head: 'maintenance', cell: (m) => m.name },
  { head: 'part', cell: (m) => m.part },
  { head: 'counted', cell: (m) => m.counted },
  { head: 'every (h or runs)', cell: (m) => amount(m, m.every) },
  { head: 'used (h or runs)', cell: (m) => amount(m, m.used) },
  { head: 'left (h or runs)', cell: (m) => amount(m, m.left) },
  { head: 'since (UTC)', cell: (m) => utc(m.since) },
  { head: 'since work on the part', cell: (m) => m.isSinceWork },
  { head: 'not observed meanwhile (h)', cell: (m) => hours(m.unobservedMs) },
  { head: 'state', cell: (m) => m.state },
  { head: 'due early (UTC)', cell: (m) => utc(m.early) },
  { head: 'due likely (UTC)', cell: (m) => utc(m.likely) },
  { head: 'due late (UTC)', cell: (m) => utc(m.late) },
  { head: 'overdue since (UTC)', cell: (m) => utc(m.overdueSince) },
  { head: 'in words', cell: (m) => m.due },
];
