/** An invented week for trying its paper: hours that sum exactly, a chamber hardly heard, a pump that wears, many or few of everything. */
import type { Drawn } from './drawn.ts';
import type { ReportPlace } from '../../../gateway/reports/place.ts';
import { EQUIPMENT_STATES, type EquipmentState } from '../../../src/equipment.ts';
import type { MeanFigure, ReliabilityNumbers, TargetLine } from '../../../src/kpi.ts';
import type { RecipeTimes, Share, Spread, StateTimes, WeekLoss, WeekPage, WindowNumbers } from '../../../src/numbers.ts';
import { onlySeen } from '../../../src/seen.ts';
import { addTimes, shares } from '../../../src/utilization.ts';
import { restOfNumbers } from '../../src/kpi-example.ts';
import { fixedDice } from './drawn.ts';

const HOUR = 3_600_000;
const MIN = 60_000;
export const FROM = Date.UTC(2026, 10, 15, 23);
const TO = FROM + 168 * HOUR;

export type WeekWish = {
  readonly chambers?: number;
  readonly recipes?: number;
  /** Observed part of each chamber's week. */
  readonly coverage?: number;
  readonly complete?: boolean;
  readonly name?: (name: string) => string;
  readonly previous?: number;
  /** Place in the list of the chamber that nobody observed. */
  readonly unseen?: number;
};

export const PLACE: ReportPlace = {
  site: 'Quellmoor Works',
  hall: 'Hall 3',
  zone: 'Europe/Berlin',
  units: { pressure: 'mTorr', flow: 'sccm' },
  paper: 'a4',
  nameOf: (chamber) => chamber,
  version: '0.1.0',
  calendar: '3 shifts, no holiday',
};

const RECIPES = ['DSM-PI-25', 'DSM-EP-25', 'ACT-AR-07', 'CLN-OA-10', 'ETB-RF-43'];
const CAUSES: readonly (readonly [string, EquipmentState])[] = [
  ['idle, no work', 'standby'],
  ['waiting for unload', 'standby'],
  ['RF generator fault', 'unscheduled-downtime'],
  ['waiting for load', 'standby'],
  ['planned maintenance', 'scheduled-downtime'],
  ['pump oil and belts', 'scheduled-downtime'],
  ['door not latched', 'unscheduled-downtime'],
  ['trial', 'engineering'],
  ['water flow low', 'unscheduled-downtime'],
  ['gas not stable', 'standby'],
  ['waiting for operator', 'standby'],
];

export function exampleWeek(wish: WeekWish = {}): WeekPage {
  const { chambers: n = 12, recipes = 5, coverage = 0.994, complete = true, name = String, previous = 8, unseen = -1 } = wish;
  const dice = fixedDice(26);
  const ids = Array.from({ length: n }, (_, i) => name(`PC-${String(i + 1).padStart(2, '0')}`));
  const seen = (i: number): number => (i === unseen ? 0 : i === 8 ? Math.min(coverage, 0.71) : coverage);
  const chambers = ids.map((id, i) => numbers(id, { dice, coverage: seen(i), recipes, name }));
  const fleet = onlySeen(sum(chambers));
  const watched = ids.filter((_, i) => i !== unseen);
  return {
    week: '2026-W47',
    from: FROM,
    to: TO,
    hours: 168,
    zone: 'Europe/Berlin',
    complete,
    countedTo: complete ? TO : FROM + 60 * HOUR,
    headline: [
      '1942 loads, 61 fewer than the median of the 8 weeks before, outside the usual 1960 to 2051.',
      'Operational utilization 67.4 % of operations time, 98.9 % of it observed, as usual.',
      name('Largest loss: RF generator fault, 63.5 h in 4 chambers, 3.2 % of observed time; usually 8 to 22 h.'),
      'PC-03: operational utilization 51.2 %, usually 62.0 to 71.3 %, because it stood 31.0 h with an RF generator fault.',
      '422 alarms. Worst: RF generator fault at PC-03, 22 of them or 5.2 %, chattering.',
      '12.4 h of 2016.0 h were not observed (0.6 %).',
    ],
    fleet,
    chambers: chambers.map(onlySeen),
    previous: Array.from({ length: previous }, (_, i) => before(i, { ids, dice, previous })),
    losses: n === 0 || coverage === 0 ? [] : lossList(watched, name),
    alarmTargets: targets(name),
    drift: coverage === 0 ? [] : driftList(ids, name),
    unexplained: unexplained(coverage === 0 ? [] : watched, name),
    changes:
      coverage === 0
        ? []
        : [
            { at: FROM + 52 * HOUR, chamber: ids[4] ?? null, text: name('recipe DSM-PI-25: plasma 2 set from 1080 s to 960 s.') },
            { at: FROM + 81 * HOUR, chamber: ids[8] ?? null, text: name('maintenance: door seal replaced, baselines begin anew.') },
          ],
    previousWeek: '2026-W46',
    nextWeek: '2026-W48',
    generatedAt: TO + 6.5 * HOUR,
  };
}

/** The last chamber of six has one too short for the fleet's list. */
function unexplained(ids: readonly string[], name: Making['name']): WeekPage['unexplained'] {
  const stop = (chamber: string, i: number) => ({
    chamber,
    from: FROM + 20 * (i + 1) * HOUR,
    to: FROM + (20 * (i + 1) + 3 - i / 2) * HOUR,
    reason: name('RF generator fault'),
  });
  const all = ids.slice(0, 6).map(stop);
  return {
    stops: all.length === 0 ? null : all.length + 2,
    lostMs: all.length === 0 ? null : 10.7 * HOUR,
    share: all.length === 0 ? null : 0.118,
    longest: all.slice(0, 5),
    byChamber: all.map((one, i) => ({ chamber: one.chamber, stops: i === 0 ? 3 : 1, longest: [one] })),
  };
}

type Making = { readonly dice: Drawn; readonly coverage: number; readonly recipes: number; readonly name: (name: string) => string };

function numbers(chamber: string, { dice, coverage, recipes, name }: Making): WindowNumbers {
  const down = 0.01 + 0.06 * dice() ** 3;
  const time = times(168 * HOUR, {
    productive: (0.42 + 0.12 * dice()) * coverage,
    engineering: 0.012 * coverage,
    'scheduled-downtime': 0.025 * coverage,
    'unscheduled-downtime': down * coverage,
    nonscheduled: 0.2 * coverage,
    unobserved: 1 - coverage,
  });
  const failures = coverage === 0 ? 0 : Math.round(down * 90);
  return {
    chamber,
    chambers: 1,
    from: FROM,
    to: TO,
    time,
    ...restOfNumbers(time),
    ...sharesOf(time),
    loads: {
      completed: Math.round(time.productive / (33 * MIN)),
      aborted: failures % 3,
      interrupted: 0,
      notFullyObserved: coverage > 0 && coverage < 0.9 ? 4 : 0,
      engineering: coverage === 0 ? 0 : 5,
    },
    recipes: Array.from({ length: coverage === 0 ? 0 : Math.min(recipes, 2 + Math.floor(dice() * recipes)) }, (_, i) =>
      recipeTimes(name(RECIPES[i % 5] + (i < 5 ? '' : `-${i}`)), 24 + 9 * i, 40 - 2 * i),
    ),
    alarms: {
      activations: coverage === 0 ? 0 : 40,
      per10Min: coverage === 0 ? null : 0.04,
      peak10Min: coverage === 0 ? 0 : 4,
      peakAt: coverage === 0 ? null : FROM + HOUR,
      floods: [],
      worst:
        coverage === 0
          ? []
          : [
              'RF generator fault',
              'Reflected power high',
              'Door not latched',
              'Water flow low',
              'Base pressure not reached',
              'Gas flow deviation',
            ].map((text, i) => ({
              chamber,
              code: text.toUpperCase().replaceAll(' ', '_'),
              text: name(text),
              priority: 'high' as const,
              activations: 22 - 3 * i,
              share: (22 - 3 * i) / 422,
              standingMs: 2 * HOUR,
              chattering: i === 0,
            })),
    },
    reliability: reliability(time, failures),
  };
}

function sum(all: readonly WindowNumbers[]): WindowNumbers {
  const time = addTimes(all.map((n) => n.time));
  const [first] = all;
  const loads = (pick: keyof WindowNumbers['loads']): number => all.reduce((total, n) => total + n.loads[pick], 0);
  return {
    ...(first as WindowNumbers),
    chamber: null,
    chambers: all.length,
    time,
    ...restOfNumbers(time),
    ...sharesOf(time),
    loads: {
      completed: loads('completed'),
      aborted: loads('aborted'),
      interrupted: 0,
      notFullyObserved: loads('notFullyObserved'),
      engineering: loads('engineering'),
    },
    recipes: [...new Map(all.flatMap((n) => n.recipes).map((r) => [r.recipe, { ...r, runs: r.runs * all.length }])).values()],
    alarms: { ...(first as WindowNumbers).alarms, activations: all.reduce((total, n) => total + n.alarms.activations, 0) },
    reliability: reliability(
      time,
      all.reduce((total, n) => total + n.reliability.failures, 0),
    ),
  };
}

/** With words of our own, so that the golden sheet does not hang on theirs. */
const sharesOf = (time: StateTimes) => {
  const found = shares(time);
  const rule = 'productive / operations time, over observed time, in the manner of SEMI E10';
  return Object.fromEntries(Object.entries(found).map(([name, share]) => [name, { ...share, rule }])) as typeof found;
};

function times(totalMs: number, parts: Partial<Record<EquipmentState, number>>): StateTimes {
  const time = Object.fromEntries(EQUIPMENT_STATES.map((state) => [state, Math.round(totalMs * (parts[state] ?? 0))])) as StateTimes;
  const rest = totalMs - EQUIPMENT_STATES.reduce((total, state) => total + time[state], 0);
  return { ...time, standby: time.standby + rest };
}

const spread = (m: number, n: number): Spread => ({ n, p10: m * 0.93 * MIN, p50: m * MIN, p90: m * 1.31 * MIN });

function recipeTimes(recipe: string, minutes: number, runs: number): RecipeTimes {
  return { recipe, runs, processTime: spread(minutes - 8, runs), cycleTime: spread(minutes, runs), waitForUnload: null, phases: [] };
}

function mean(name: string, words: string, made: { amount: number; count: number; unit?: MeanFigure['unit'] }): MeanFigure {
  const { amount, count, unit = 'ms' } = made;
  const estimate = count === 0 ? null : amount / count;
  const [low, high] =
    amount === 0 ? [null, null] : count === 0 ? [amount / 2.3, null] : [amount / (count + 2.9), amount / Math.max(0.5, count - 1.8)];
  return {
    name,
    words,
    unit,
    estimate,
    low,
    high,
    confidence: 0.9,
    sides: count === 0 ? 'lower only' : 'two-sided',
    amount,
    count,
    rule: '',
  };
}

function reliability(time: StateTimes, failures: number): ReliabilityNumbers {
  const down = time['unscheduled-downtime'];
  const [cycles, downtimeEvents] = time.productive === 0 ? [0, 0] : [160, failures + 1];
  return {
    failures,
    failuresInProduction: failures,
    assists: failures * 2,
    assistsInProduction: failures,
    external: 0,
    cut: 0,
    open: 0,
    cycles,
    downtimeEvents,
    repairs: failures,
    repairMs: down,
    delayMs: 0,
    mtbfProductive: mean('MTBFp', 'productive time per failure', { amount: time.productive, count: failures }),
    mtbfUptime: mean('MTBFu', 'uptime per failure', { amount: time.productive + time.standby, count: failures }),
    cyclesBetweenFailures: mean('MCBF', 'cycles per failure', { amount: cycles, count: failures, unit: 'cycles' }),
    mtbAssists: mean('MTBAp', 'productive time per assist', { amount: time.productive, count: failures * 2 }),
    mttr: mean('MTTR', 'repair time per repair', { amount: down, count: failures }),
    meanOffline: mean('MTOL', 'downtime per stop', { amount: down + time['scheduled-downtime'], count: downtimeEvents }),
    trend: null,
    assistLimitMs: 6 * MIN,
    rule: '',
  };
}

function before(
  i: number,
  { ids, dice, previous }: { ids: readonly string[]; dice: Drawn; previous: number },
): WeekPage['previous'][number] {
  const seen = i === 2 ? 0.6 : 1;
  const time = times(168 * HOUR * Math.max(1, ids.length), {
    productive: (0.45 + 0.05 * dice()) * seen,
    nonscheduled: 0.2 * seen,
    unobserved: 1 - seen,
  });
  const share: Share = shares(time).operationalUtilization;
  return {
    week: `2026-W${47 - previous + i}`,
    totalUtilization: shares(time).totalUtilization,
    operationalUtilization: share,
    loads: { completed: 1990 + i, aborted: 3, interrupted: 0, notFullyObserved: 0, engineering: 4 },
    alarmActivations: 400,
    time,
    failures: 9,
    assists: 12,
    losses: [],
    byChamber: ids.map((chamber) => ({
      chamber,
      operationalUtilization: { ...share, value: share.value === null ? null : share.value + 0.08 * (dice() - 0.5) },
      loads: 160,
    })),
    recipes: [],
  };
}

function lossList(ids: readonly string[], name: (name: string) => string): WeekLoss[] {
  return CAUSES.map(([cause, state], i) => {
    const lostMs = (263 * HOUR) / (i + 1) ** 1.2;
    return {
      cause: name(cause),
      state,
      lostMs: Math.round(lostMs),
      loads: lostMs / (41 * MIN),
      occurrences: 120 - 9 * i,
      chambers: ids.slice(0, Math.max(1, ids.length - i)).map((chamber, k) => ({ chamber, lostMs: Math.round(lostMs / ids.length) + k })),
      parts: [{ reason: name(cause), lostMs: Math.round(lostMs) }],
      usual: i === 2 ? { low: 8 * HOUR, high: 22 * HOUR, median: 15 * HOUR, weeks: 8 } : null,
    };
  });
}

function targets(name: (name: string) => string): TargetLine[] {
  const line = (of: Partial<TargetLine>): TargetLine => ({
    position: name('All chambers'),
    name: '',
    value: null,
    target: 0,
    most: null,
    unit: 'count',
    verdict: 'not known',
    rule: '',
    ...of,
  });
  return [
    line({ name: 'alarms per day', value: 60, target: 144, most: 288, unit: 'per day', verdict: 'within target' }),
    line({ name: 'alarms per hour', value: 2.5, target: 6, most: 12, unit: 'per hour', verdict: 'within target' }),
    line({ name: 'hours with more than 30', value: 0.006, target: 0.01, unit: 'share', verdict: 'within target' }),
    line({ name: 'time in flood', value: 0.013, target: 0.01, unit: 'share', verdict: 'above target' }),
    line({ name: 'ten most frequent', value: 0.38, target: 0.05, unit: 'share', verdict: 'above manageable' }),
    line({ name: 'chattering alarms', value: 1, target: 0, unit: 'count', verdict: 'above target' }),
    line({ name: 'stale alarms', value: null, target: 5, unit: 'count', verdict: 'not known' }),
  ];
}

const driftList = (ids: readonly string[], name: (name: string) => string): WeekPage['drift'] =>
  ids.slice(6, 9).map((chamber) => ({
    chamber,
    text: name(
      'start of pump-down 121 s, usually 103 s; the tail is unchanged: speaks for pump speed, not for a leak. Check belt, oil and inlet screen.',
    ),
    since: FROM + 40 * HOUR,
  }));
