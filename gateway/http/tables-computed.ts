/** The columns of what is computed over a window beside its shares: times per recipe, losses, the worst alarms, the weeks before. */
import { partsText } from '../../src/losses.ts';
import type { Loss, RecipeTimes, Spread, WeekPage, SeenNumbers } from '../../src/numbers.ts';
import { hours, measured, ratio, seconds, type Column } from './csv.ts';
import { shareColumns } from './tables.ts';

type Time = {
  readonly chamber: string;
  readonly recipe: string;
  readonly what: string;
  readonly step: number | null;
  readonly spread: Spread;
};

export const TIME_COLUMNS: readonly Column<Time>[] = [
  { head: 'chamber', cell: (t) => t.chamber },
  { head: 'recipe', cell: (t) => t.recipe },
  { head: 'time', cell: (t) => t.what },
  { head: 'step', cell: (t) => t.step },
  { head: 'runs', cell: (t) => t.spread.n },
  { head: 'p10 (s)', cell: (t) => seconds(t.spread.p10) },
  { head: 'p50 (s)', cell: (t) => seconds(t.spread.p50) },
  { head: 'p90 (s)', cell: (t) => seconds(t.spread.p90) },
];

export const timesOf = (numbers: readonly SeenNumbers[]): readonly Time[] =>
  numbers.flatMap(({ chamber, recipes }) => recipes.flatMap((recipe) => recipeRows(chamber ?? 'fleet', recipe)));

function recipeRows(chamber: string, { recipe, processTime, cycleTime, phases }: RecipeTimes): Time[] {
  const whole = (what: string, spread: Spread | null): Time[] => (spread === null ? [] : [{ chamber, recipe, what, step: null, spread }]);
  const parts = phases.map(({ phase, step, duration }) => ({ chamber, recipe, what: phase, step, spread: duration }));
  return [...whole('cycle time', cycleTime), ...whole('process time', processTime), ...parts];
}

type Lost = {
  readonly loss: Loss;
  readonly chamber: string;
  readonly lostMs: number;
  readonly occurrences: number | null;
  readonly loads: number | null;
};

export const LOSS_COLUMNS: readonly Column<Lost>[] = [
  { head: 'cause', cell: (l) => l.loss.cause },
  { head: 'state', cell: (l) => l.loss.state },
  { head: 'chamber', cell: (l) => l.chamber },
  { head: 'lost (h)', cell: (l) => hours(l.lostMs) },
  { head: 'occurrences', cell: (l) => l.occurrences },
  { head: 'loads in that time (own rate of each chamber)', cell: (l) => measured(l.loads) },
  { head: 'parts', cell: (l) => (l.chamber === 'fleet' ? partsText(l.loss) : null) },
];

/** Each cause of all chambers together, then by chamber. */
export const lossesOf = (losses: readonly Loss[]): readonly Lost[] =>
  losses.flatMap((loss) => [
    { loss, chamber: 'fleet', lostMs: loss.lostMs, occurrences: loss.occurrences, loads: loss.loads },
    ...loss.chambers.map(({ chamber, lostMs }) => ({ loss, chamber, lostMs, occurrences: null, loads: null })),
  ]);

type Worst = { readonly among: string; readonly alarm: SeenNumbers['alarms']['worst'][number] };

export const WORST_COLUMNS: readonly Column<Worst>[] = [
  { head: 'worst of', cell: (w) => w.among },
  { head: 'chamber', cell: (w) => w.alarm.chamber },
  { head: 'code', cell: (w) => w.alarm.code },
  { head: 'text', cell: (w) => w.alarm.text },
  { head: 'priority', cell: (w) => w.alarm.priority },
  { head: 'activations', cell: (w) => w.alarm.activations },
  { head: 'share of all activations (0..1)', cell: (w) => ratio(w.alarm.share) },
  { head: 'standing while observed (s)', cell: (w) => seconds(w.alarm.standingMs) },
  { head: 'chattering', cell: (w) => w.alarm.chattering },
];

export const worstOf = (numbers: readonly SeenNumbers[]): readonly Worst[] =>
  numbers.flatMap(({ chamber, alarms }) => alarms.worst.map((alarm) => ({ among: chamber ?? 'fleet', alarm })));

type Week = WeekPage['previous'][number];

export const WEEK_COLUMNS: readonly Column<Week>[] = [
  { head: 'week', cell: (w) => w.week },
  ...shareColumns<Week>('total utilization', (w) => w.totalUtilization),
  ...shareColumns<Week>('operational utilization', (w) => w.operationalUtilization),
  { head: 'loads completed', cell: (w) => w.loads.completed },
  { head: 'runs aborted', cell: (w) => w.loads.aborted },
  { head: 'runs interrupted', cell: (w) => w.loads.interrupted },
  { head: 'runs not fully observed', cell: (w) => w.loads.notFullyObserved },
  { head: 'engineering runs', cell: (w) => w.loads.engineering },
  { head: 'alarm activations', cell: (w) => w.alarmActivations },
  { head: 'failures', cell: (w) => w.failures },
  { head: 'assists', cell: (w) => w.assists },
];
