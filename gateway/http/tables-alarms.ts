/** The columns of the alarm journal and of the alarm statistics. */
import type { AlarmFlood, AlarmLoad, AlarmStatistics, AlarmSuppressed, BadActor, JournalRow } from '../../src/alarm-answer.ts';
import type { TargetLine } from '../../src/kpi.ts';
import { hours, ratio, seconds, utc, type Column } from './csv.ts';

export const JOURNAL_COLUMNS: readonly Column<JournalRow>[] = [
  { head: 'chamber', cell: (a) => a.chamber },
  { head: 'activated (UTC)', cell: (a) => utc(a.at) },
  { head: 'cleared (UTC)', cell: (a) => utc(a.clearedAt) },
  { head: 'standing (s)', cell: (a) => seconds(a.standingMs) },
  { head: 'code', cell: (a) => a.code },
  { head: 'text', cell: (a) => a.text },
  { head: 'priority', cell: (a) => a.priority },
  { head: 'notice', cell: (a) => a.notice },
  { head: 'counted in rates', cell: (a) => a.counted && !a.suppressed && !a.notice },
  { head: 'shelved, suppressed or out of service', cell: (a) => a.suppressed },
  { head: 'by what', cell: (a) => (a.suppressed ? a.suppressedAs.join(', ') : null) },
  { head: 'begin seen', cell: (a) => a.counted },
  { head: 'state', cell: (a) => a.state },
  { head: 'acknowledgement', cell: (a) => a.acknowledgement },
  { head: 'acknowledged (UTC)', cell: (a) => utc(a.acknowledgedAt) },
  { head: 'time to acknowledge (s)', cell: (a) => seconds(a.acknowledgeMs) },
  { head: 'confirmation', cell: (a) => a.confirmation },
  { head: 'confirmed (UTC)', cell: (a) => utc(a.confirmedAt) },
  { head: 'branch', cell: (a) => a.branch },
  { head: 'first-out of its episode', cell: (a) => a.firstOut?.code ?? null },
  { head: 'reset (UTC)', cell: (a) => utc(a.resetAt) },
];

type Of<Row> = { readonly load: AlarmLoad; readonly row: Row };
const AMONG: readonly Column<Of<unknown>>[] = [
  { head: 'of', cell: ({ load }) => load.kind },
  { head: 'name', cell: ({ load }) => load.name },
];
const rowsOf = <Row>({ positions, chambers }: AlarmStatistics, of: (load: AlarmLoad) => readonly Row[]): readonly Of<Row>[] =>
  [...positions, ...chambers].flatMap((load) => of(load).map((row) => ({ load, row })));

export const LOAD_COLUMNS: readonly Column<Of<TargetLine>>[] = [
  ...AMONG,
  { head: 'number', cell: ({ row }) => row.name },
  { head: 'value', cell: ({ row }) => ratio(row.value) },
  { head: 'unit', cell: ({ row }) => row.unit },
  { head: 'target', cell: ({ row }) => row.target },
  { head: 'most manageable', cell: ({ row }) => row.most },
  { head: 'verdict', cell: ({ row }) => row.verdict },
  { head: 'observed, mean of chambers (h)', cell: ({ load }) => hours(load.observedMs) },
  { head: 'coverage (0..1)', cell: ({ load }) => ratio(load.coverage) },
  { head: 'source', cell: ({ row }) => row.rule },
];
export const loadRows = (all: AlarmStatistics): readonly Of<TargetLine>[] => rowsOf(all, ({ lines }) => lines);

export const FLOOD_COLUMNS: readonly Column<Of<AlarmFlood>>[] = [
  ...AMONG,
  { head: 'from (UTC)', cell: ({ row }) => utc(row.from) },
  { head: 'to (UTC)', cell: ({ row }) => utc(row.to) },
  { head: 'duration (s)', cell: ({ row }) => seconds(row.to - row.from) },
  { head: 'started before the window', cell: ({ row }) => row.startedBefore },
  { head: 'goes on after it', cell: ({ row }) => row.goesOn },
  { head: 'most in 10 min', cell: ({ row }) => row.peak },
  { head: 'activations', cell: ({ row }) => row.activations },
  { head: 'first chamber', cell: ({ row }) => row.first?.chamber ?? null },
  { head: 'first alarm', cell: ({ row }) => row.first?.code ?? null },
];
export const floodRows = (all: AlarmStatistics): readonly Of<AlarmFlood>[] => rowsOf(all, ({ floods }) => floods);

export const ACTOR_COLUMNS: readonly Column<Of<BadActor>>[] = [
  ...AMONG,
  { head: 'chamber', cell: ({ row }) => row.chamber },
  { head: 'code', cell: ({ row }) => row.code },
  { head: 'text', cell: ({ row }) => row.text },
  { head: 'priority', cell: ({ row }) => row.priority },
  { head: 'activations', cell: ({ row }) => row.activations },
  { head: 'share of all (0..1)', cell: ({ row }) => ratio(row.share) },
  { head: 'standing while observed (s)', cell: ({ row }) => seconds(row.standingMs) },
  { head: 'median active (s)', cell: ({ row }) => seconds(row.medianActiveMs) },
  { head: 'fleeting', cell: ({ row }) => row.fleeting },
  { head: 'three in a minute, times', cell: ({ row }) => row.chatter.hits },
  { head: 'chatters slowly', cell: ({ row }) => row.chatter.slow },
  { head: 'chattering index (1/s)', cell: ({ row }) => ratio(row.chatter.index) },
  { head: 'chatters by index', cell: ({ row }) => row.chatter.byIndex },
  { head: 'advice', cell: ({ row }) => row.advice?.text ?? null },
];
export const actorRows = (all: AlarmStatistics): readonly Of<BadActor>[] => rowsOf(all, ({ worst }) => worst);

export const SUPPRESSION_COLUMNS: readonly Column<Of<AlarmSuppressed>>[] = [
  ...AMONG,
  { head: 'chamber', cell: ({ row }) => row.chamber },
  { head: 'code', cell: ({ row }) => row.code },
  { head: 'text', cell: ({ row }) => row.text },
  { head: 'by what', cell: ({ row }) => row.as },
  { head: 'from (UTC)', cell: ({ row }) => utc(row.from) },
  { head: 'begin seen', cell: ({ row }) => row.beginSeen },
  { head: 'to (UTC)', cell: ({ row }) => utc(row.to) },
  { head: 'shelved until (UTC)', cell: ({ row }) => utc(row.until) },
  { head: 'in the window while observed (s)', cell: ({ row }) => seconds(row.ms) },
  { head: 'activations meanwhile', cell: ({ row }) => row.activations },
];
export const suppressionRows = (all: AlarmStatistics): readonly Of<AlarmSuppressed>[] =>
  rowsOf(all, ({ suppressedAlarms }) => suppressedAlarms);

type Period = { readonly from: number; readonly to: number; readonly activations: number | null };
export const COUNT_COLUMNS: readonly Column<Of<Period>>[] = [
  ...AMONG,
  { head: 'from (UTC)', cell: ({ row }) => utc(row.from) },
  { head: 'to (UTC)', cell: ({ row }) => utc(row.to) },
  { head: 'activations (empty: not observed)', cell: ({ row }) => row.activations },
];
export const countRows = (all: AlarmStatistics): readonly Of<Period>[] =>
  rowsOf(all, ({ counts: { from, periodMs, counts } }) =>
    counts.map((activations, i) => ({ from: from + i * periodMs, to: from + (i + 1) * periodMs, activations })),
  );
