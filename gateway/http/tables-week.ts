/** Every number of the week page in long form: one line per number, with its unit, bounds, base and coverage beside it. */
import { EQUIPMENT_STATES } from '../../src/equipment.ts';
import type { MeanFigure } from '../../src/kpi.ts';
import { partsText } from '../../src/losses.ts';
import type { RecipeTimes, Share, Spread, WeekPage, SeenNumbers } from '../../src/numbers.ts';
import { seenCount, seenMs } from '../../src/seen.ts';
import { observedMs } from '../../src/utilization.ts';
import { estimated, hours, measured, ratio, seconds, utc, type Cell, type Column } from './csv.ts';

type Line = {
  readonly section: string;
  readonly chamber: string;
  readonly name: string;
  readonly value: Cell;
  readonly unit: string;
  readonly low?: number | null;
  readonly high?: number | null;
  readonly base?: string;
  readonly coverage?: number | null;
};

export const WEEK_LINE_COLUMNS: readonly Column<Line>[] = [
  { head: 'section', cell: (l) => l.section },
  { head: 'chamber', cell: (l) => l.chamber },
  { head: 'name', cell: (l) => l.name },
  { head: 'value', cell: (l) => l.value },
  { head: 'unit', cell: (l) => l.unit },
  { head: 'low', cell: (l) => l.low ?? null },
  { head: 'high', cell: (l) => l.high ?? null },
  { head: 'base', cell: (l) => l.base ?? null },
  { head: 'coverage (0..1)', cell: (l) => ratio(l.coverage ?? null) },
];

export function weekLines(page: WeekPage): readonly Line[] {
  return [
    ...aboutLines(page),
    ...[page.fleet, ...page.chambers].flatMap(windowLines),
    ...page.losses.flatMap(lossLines),
    ...page.alarmTargets.map((t): Line => {
      const { position, name, value, unit, target, verdict } = t;
      return { section: 'alarm target', chamber: position, name, value: measured(value), unit, high: target, base: verdict };
    }),
    ...unexplainedLines(page),
    ...page.drift.map(({ chamber, text, since }): Line => ({
      section: 'drift',
      chamber,
      name: text,
      value: utc(since),
      unit: 'since (UTC)',
    })),
    ...page.changes.map(({ chamber, text, at }): Line => ({
      section: 'change',
      chamber: chamber ?? 'fleet',
      name: text,
      value: utc(at),
      unit: 'at (UTC)',
    })),
    ...page.previous.flatMap(previousLines),
  ];
}

function aboutLines(page: WeekPage): Line[] {
  const line = (name: string, value: Cell, unit = ''): Line => ({ section: 'week', chamber: 'fleet', name, value, unit });
  return [
    line('week', page.week),
    line('from', utc(page.from), 'UTC'),
    line('to', utc(page.to), 'UTC'),
    line('counted to', utc(page.countedTo), 'UTC'),
    line('complete', page.complete),
    line('zone', page.zone),
    line('generated', utc(page.generatedAt), 'UTC'),
    ...page.headline.map((sentence, i) => line(`sentence ${i + 1}`, sentence)),
  ];
}

function windowLines(n: SeenNumbers): Line[] {
  const chamber = n.chamber ?? 'fleet';
  const line = (section: string, name: string, value: Cell, unit: string): Line => ({ section, chamber, name, value, unit });
  const { alarms, reliability } = n;
  return [
    ...EQUIPMENT_STATES.map((state) => line('time', state, hours(seenMs(state, n.time)), 'h')),
    ...[
      n.totalUtilization,
      n.operationalUtilization,
      n.totalUptime,
      n.operationalUptime,
      n.equipmentDependentUptime,
      n.supplierDependentUptime,
    ].map((share) => shareLine('share', chamber, share)),
    ...Object.entries(n.loads).map(([name, count]) => line('loads', LOAD_WORDS[name] ?? name, count, 'count')),
    ...n.recipes.flatMap((recipe) => recipeLines(chamber, recipe)),
    line('alarms', 'activations', alarms.activations, 'count'),
    line('alarms', 'per 10 min of observed time', estimated(alarms.per10Min), 'per 10 min'),
    line('alarms', 'most in 10 min', alarms.peak10Min, 'count'),
    line('alarms', 'floods', seenCount(alarms.floods.length, n.time), 'count'),
    ...alarms.worst.map((a): Line => ({
      section: 'worst alarm',
      chamber: a.chamber,
      name: `${a.code}: ${a.text}`,
      value: a.activations,
      unit: 'count',
      base: `of ${chamber}`,
    })),
    line('failures', 'failures', reliability.failures, 'count'),
    line('failures', 'assists', reliability.assists, 'count'),
    ...meansOf(n).map((figure) => meanLine(n, figure)),
    ...n.oee.map((o): Line => ({
      section: 'effectiveness',
      chamber,
      name: `${o.name}, ${o.manner}`,
      value: ratio(o.value),
      unit: '0..1',
      low: ratio(o.low),
      high: ratio(o.high),
      base: baseOf(o.base, o.baseMs),
      coverage: o.coverage,
    })),
    ...n.iso22400.map((f): Line => ({
      section: 'ISO 22400-2',
      chamber,
      name: f.name,
      value: estimated(f.value),
      unit: f.unit === 'share' ? '0..1' : f.unit,
      base: f.missing ?? f.formula,
    })),
    ...n.waiting.map((w) => line('waiting', `${w.kind}: ${w.reason}`, hours(w.waitMs), 'h')),
    ...n.shiftLoads.map((s) => line('loads by shift', s.shift ?? 'outside every shift', s.loads, 'count')),
  ];
}

const NOTHING = 'nothing was observed';

const LOAD_WORDS: Readonly<Record<string, string>> = {
  completed: 'loads completed',
  aborted: 'runs aborted',
  interrupted: 'runs interrupted',
  notFullyObserved: 'runs not fully observed',
  engineering: 'engineering runs',
};

const baseOf = (base: string, baseMs: number): string => `${base}, ${hours(baseMs)} h`;

const shareLine = (section: string, chamber: string, share: Share): Line => ({
  section,
  chamber,
  name: share.name,
  value: ratio(share.value),
  unit: '0..1',
  low: ratio(share.low),
  high: ratio(share.high),
  base: baseOf(share.base, share.baseMs),
  coverage: share.coverage,
});

const meansOf = ({ reliability: r }: SeenNumbers): readonly MeanFigure[] => [
  r.mtbfProductive,
  r.mtbfUptime,
  r.cyclesBetweenFailures,
  r.mtbAssists,
  r.mttr,
  r.meanOffline,
];

function meanLine({ chamber, time }: SeenNumbers, figure: MeanFigure): Line {
  const { name, words, unit, estimate, low, high, confidence, sides, amount, count } = figure;
  const inUnit = (value: number | null): number | null => estimated(unit === 'cycles' ? value : hours(value));
  return {
    section: 'failures',
    chamber: chamber ?? 'fleet',
    name: `${name}: ${words}`,
    value: inUnit(estimate),
    unit: unit === 'ms' ? 'h' : 'cycles',
    low: inUnit(low),
    high: inUnit(high),
    base:
      observedMs(time) === 0
        ? NOTHING
        : `${unit === 'ms' ? hours(amount) : amount} ${unit === 'ms' ? 'h' : 'cycles'} / ${count}, ${sides} at ${confidence}`,
  };
}

function recipeLines(chamber: string, { recipe, runs, processTime, cycleTime }: RecipeTimes): Line[] {
  const time = (name: string, spread: Spread | null): Line => ({
    section: 'recipe',
    chamber,
    name: `${recipe}: median ${name}`,
    value: seconds(spread?.p50 ?? null),
    unit: 's',
    low: seconds(spread?.p10 ?? null),
    high: seconds(spread?.p90 ?? null),
    base: `${spread?.n ?? 0} of ${runs} runs, 10 to 90 %`,
  });
  return [time('process time', processTime), time('cycle time', cycleTime)];
}

function lossLines(loss: WeekPage['losses'][number]): Line[] {
  const { cause, state, lostMs, loads, occurrences, chambers, usual } = loss;
  const parts = partsText(loss);
  const whole: Line = {
    section: 'loss',
    chamber: 'fleet',
    name: cause,
    value: hours(lostMs),
    unit: 'h',
    low: usual ? hours(usual.low) : null,
    high: usual ? hours(usual.high) : null,
    base: `${state}, ${occurrences === 1 ? 'once' : `${occurrences} times`}${usual ? `, usual of ${usual.weeks} weeks` : ''}${parts === '' ? '' : `: ${parts}`}`,
  };
  const inLoads: Line = { section: 'loss in loads', chamber: 'fleet', name: cause, value: measured(loads), unit: 'loads', base: state };
  return [
    whole,
    inLoads,
    ...chambers.map((c): Line => ({ section: 'loss', chamber: c.chamber, name: cause, value: hours(c.lostMs), unit: 'h', base: state })),
  ];
}

function unexplainedLines({ unexplained: u }: WeekPage): Line[] {
  const line = (name: string, value: Cell, unit: string): Line => ({
    section: 'unexplained downtime',
    chamber: 'fleet',
    name,
    value,
    unit,
  });
  return [
    line('stops', u.stops, 'count'),
    line('time', hours(u.lostMs), 'h'),
    line('share of unscheduled downtime', ratio(u.share), '0..1'),
    ...u.longest.map((s): Line => ({ ...line(`from ${utc(s.from)}: ${s.reason}`, hours(s.to - s.from), 'h'), chamber: s.chamber })),
  ];
}

function previousLines(week: WeekPage['previous'][number]): Line[] {
  const section = `week before ${week.week}`;
  return [
    shareLine(section, 'fleet', week.totalUtilization),
    shareLine(section, 'fleet', week.operationalUtilization),
    { section, chamber: 'fleet', name: 'loads completed', value: week.loads.completed, unit: 'count' },
    { section, chamber: 'fleet', name: 'alarm activations', value: week.alarmActivations, unit: 'count' },
    ...week.byChamber.map((c) => shareLine(section, c.chamber, c.operationalUtilization)),
  ];
}
