/**
 * Numbers made of equipment time, explained from the very intervals.
 * [XT1] Numerator and base sum the intervals by state and reason; every interval of the window is in one of them, or excluded with why.
 */
import type { Span } from './calendar.ts';
import type { StateInterval, Stop } from './contract.ts';
import { EQUIPMENT_STATES, type EquipmentState } from './equipment.ts';
import { type Draft, type Evidence, type Ingredient, NO_BOUNDS, PLAIN, type Term } from './explanation.ts';
import type { Effectiveness } from './kpi.ts';
import { stopText } from './losses.ts';
import type { Share } from './numbers.ts';
import { isIn, stopsPage } from './stops.ts';
import type { Part } from './window.ts';

type Role = 'counted' | 'base' | 'out';
type RoleOf = (interval: StateInterval) => Role;

const UP: readonly EquipmentState[] = ['productive', 'standby', 'engineering'];
const DOWN: readonly EquipmentState[] = ['scheduled-downtime', 'unscheduled-downtime'];
const OBSERVED = EQUIPMENT_STATES.filter((state) => state !== 'unobserved');

const roles =
  (counted: readonly EquipmentState[], base: readonly EquipmentState[]): RoleOf =>
  ({ state }) =>
    counted.includes(state) ? 'counted' : base.includes(state) ? 'base' : 'out';

const NOT_SUPPLIERS = ['user-delay', 'facilities', 'out-of-spec-input'];
const dependent =
  (elsewhere: readonly string[]): RoleOf =>
  ({ state, downtime }) => {
    if (UP.includes(state)) return 'counted';
    return DOWN.includes(state) && !(downtime !== null && elsewhere.includes(downtime)) ? 'base' : 'out';
  };

const STATES = 'equipment states in the manner of SEMI E10 (from memory); unobserved is ours';

const ROLES = {
  'total-utilization': roles(['productive'], OBSERVED),
  'operational-utilization': roles(['productive'], [...UP, ...DOWN]),
  'total-uptime': roles(UP, OBSERVED),
  'operational-uptime': roles(UP, [...UP, ...DOWN]),
  'equipment-dependent-uptime': dependent([...NOT_SUPPLIERS, 'supplier-delay']),
  'supplier-dependent-uptime': dependent(NOT_SUPPLIERS),
} as const;
export type ShareName = keyof typeof ROLES;
export const SHARE_NAMES = Object.keys(ROLES) as ShareName[];

/** [XT1] */
export function explainShare(name: ShareName, share: Share, parts: readonly Part[]): Draft {
  const role = ROLES[name];
  const all = parts.flatMap(({ intervals }) => intervals);
  const counted = all.filter((one) => role(one) === 'counted');
  const base = all.filter((one) => role(one) !== 'out');
  return {
    words: share.name,
    unit: 'share',
    value: share.value,
    low: share.low,
    high: share.high,
    bounds: 'unobserved time',
    coverage: share.coverage,
    formula: share.rule.split(',')[0] ?? share.rule,
    base: share.base,
    source: share.rule,
    scale: 1,
    numerator: timeTerm('time that counts', counted),
    denominator: timeTerm(`observed ${share.base}`, base),
    excluded: excluded(all.filter((one) => role(one) === 'out')),
    madeOf: all.map((one) => evidenceOf(one, { counted: 'counts', base: 'in the base', out: 'excluded' }[role(one)])),
  };
}

/** [XT1] A sum of intervals: time in a state, a loss, a wait. */
export function explainTime(words: string, chosen: (interval: StateInterval) => boolean, parts: readonly Part[]): Draft {
  const found = parts.flatMap(({ intervals }) => intervals.filter(chosen));
  const numerator = timeTerm(words, found);
  return {
    ...PLAIN,
    words,
    unit: 'ms',
    value: numerator.amount,
    formula: 'sum of the stretches in this state, cut to the window',
    source: STATES,
    numerator,
    madeOf: found.map((one) => evidenceOf(one, 'counts')),
  };
}

/** [XT1] A state's part of all time of the window, observed or not. */
export function explainStateShare(state: EquipmentState, parts: readonly Part[]): Draft {
  const draft = explainTime(`part of all time in ${state}`, (one) => one.state === state, parts);
  const denominator = timeTerm(
    'all time of the window',
    parts.flatMap(({ intervals }) => intervals),
  );
  const value = (draft.value ?? 0) / Math.max(1, denominator.amount);
  return {
    ...draft,
    unit: 'share',
    value,
    formula: `time in ${state} / all time of the window`,
    base: 'all time of the window',
    denominator,
  };
}

/** How often able chambers came to wait for this. */
export function explainWaitTimes(reason: string, parts: readonly Part[]): Draft {
  const waits = parts.flatMap(({ facts, waiting }) => waiting.filter((one) => one.reason === reason).map((one) => ({ ...one, facts })));
  const amount = waits.reduce((sum, { occurrences }) => sum + occurrences, 0);
  const ingredients = waits.map(({ facts, occurrences }) => {
    return { label: facts.chamber, state: 'standby' as const, amount: occurrences, count: occurrences };
  });
  const draft = explainTime(`times of ${reason}`, (one) => one.state === 'standby' && one.reason === reason, parts);
  const numerator: Term = { words: 'times', unit: 'count', amount, parts: ingredients };
  const formula = 'stretches of this reason; one that goes on after nonscheduled time counts once';
  return { ...draft, unit: 'count', value: amount, formula, numerator, madeOfUnit: 'ms' };
}

/** [XT1] Unscheduled stops that nobody gave a reason for: their hours in the window, their count, their part of unscheduled downtime. */
export function explainUnexplained(as: 'hours' | 'stops' | 'share', parts: readonly Part[], window: Span): Draft {
  const found = parts.map(({ around, facts }) => ({ intervals: around, heardUntil: facts.heardUntil }));
  const { stops } = stopsPage(found, window);
  const hours = explainTime('unscheduled downtime without a reason', isIn(stops.toReversed()), parts);
  const formula = 'unscheduled stops longer than a minute that nobody gave a reason for, cut to the window';
  if (as === 'hours') return { ...hours, formula };
  if (as === 'stops') return { ...hours, formula, ...countedStops(stops) };
  const denominator = timeTerm('unscheduled downtime', intervalsOf(parts, 'unscheduled-downtime'));
  const value = denominator.amount === 0 ? null : (hours.value ?? 0) / denominator.amount;
  const words = 'part of unscheduled downtime without a reason';
  return { ...hours, words, unit: 'share', value, formula: `${formula} / all unscheduled downtime`, base: denominator.words, denominator };
}

/** [XT1] One such stop, whole, by when it began. */
export function explainStop(from: number, parts: readonly Part[], window: Span): Draft | null {
  const found = parts.map(({ around, facts }) => ({ intervals: around, heardUntil: facts.heardUntil }));
  const stop = stopsPage(found, window).stops.find((one) => one.from === from);
  if (stop === undefined) return null;
  const inside = parts.flatMap(({ around }) =>
    around.filter((one) => one.chamber === stop.chamber && one.from >= stop.from && one.to <= stop.to),
  );
  const down = inside.filter(({ state }) => state === 'unscheduled-downtime');
  const numerator = timeTerm('unscheduled downtime of this stop', down);
  return {
    ...PLAIN,
    words: numerator.words,
    unit: 'ms',
    value: numerator.amount,
    formula: 'sum of its stretches of unscheduled downtime; a hole of up to ten minutes does not end it and is no downtime',
    source: STATES,
    numerator,
    excluded: excluded(inside.filter(({ state }) => state !== 'unscheduled-downtime')),
    madeOf: inside.map((one) => evidenceOf(one, one.state === 'unscheduled-downtime' ? 'counts' : 'excluded')),
  };
}

const intervalsOf = (parts: readonly Part[], wanted: EquipmentState): readonly StateInterval[] =>
  parts.flatMap(({ intervals }) => intervals.filter(({ state }) => state === wanted));

function countedStops(stops: readonly Stop[]): Pick<Draft, 'words' | 'unit' | 'value' | 'numerator' | 'madeOf'> {
  const words = 'stops without a reason';
  const state = 'unscheduled-downtime';
  const parts = [...Map.groupBy(stops, ({ chamber }) => chamber)].map(([label, { length }]): Ingredient => {
    return { label, state, amount: length, count: length };
  });
  const madeOf = stops.map(({ chamber, from, to, reasons }): Evidence => {
    return { chamber, from, to, state, text: stopText(reasons), counts: 'stop', run: null, amount: 1 };
  });
  return { words, unit: 'count', value: stops.length, numerator: { words, unit: 'count', amount: stops.length, parts }, madeOf };
}

/** [XT1] */
export function explainCoverage(share: Share, parts: readonly Part[]): Draft {
  const all = parts.flatMap(({ intervals }) => intervals.filter(({ state }) => state !== 'nonscheduled'));
  const seen = all.filter(({ state }) => state !== 'unobserved');
  return {
    words: `observed part of ${share.base}`,
    unit: 'share',
    value: share.coverage,
    ...NO_BOUNDS,
    coverage: share.coverage,
    formula: `observed ${share.base} / (observed ${share.base} + all unobserved time)`,
    base: share.base,
    source: 'own rule, on OPC UA part 13, 5.4.3.23: time of bad data is not counted',
    scale: 1,
    numerator: timeTerm(`observed ${share.base}`, seen),
    denominator: timeTerm('what it would be had all unobserved time belonged to it', all),
    excluded: excluded(parts.flatMap(({ intervals }) => intervals.filter(({ state }) => state === 'nonscheduled'))),
    madeOf: all.filter(({ state }) => state === 'unobserved').map((one) => evidenceOf(one, 'not observed')),
  };
}

/** [XT1] The numerator is by recipe: loads times nominal time. */
export function explainOee(oee: Effectiveness, parts: readonly Part[], theoretical: readonly Ingredient[]): Draft {
  const inBase = ({ state }: StateInterval): boolean =>
    state !== 'unobserved' && (oee.manner === 'SEMI E79' || (state !== 'nonscheduled' && state !== 'scheduled-downtime'));
  const all = parts.flatMap(({ intervals }) => intervals);
  return {
    words: `${oee.name}, ${oee.manner}`,
    unit: 'share',
    value: oee.value,
    low: oee.low,
    high: oee.high,
    bounds: 'unobserved time, with no recipe run faster in it than nominal',
    coverage: oee.coverage,
    formula: `${oee.factors.map(({ name }) => name).join(' x ')} = nominal process time of the loads / ${oee.base}; quality is not known and not in it`,
    base: oee.base,
    source: oee.rule,
    scale: 1,
    numerator: { words: 'nominal process time of the loads', unit: 'ms', amount: oee.theoreticalMs, parts: [...theoretical] },
    denominator: timeTerm(`observed ${oee.base}`, all.filter(inBase)),
    excluded: excluded(all.filter((one) => !inBase(one))),
    madeOf: all.map((one) => evidenceOf(one, inBase(one) ? 'in the base' : 'excluded')),
  };
}

export function timeTerm(words: string, intervals: readonly StateInterval[]): Term {
  const parts = new Map<string, Ingredient>();
  for (const { state, reason, from, to } of intervals) {
    const key = `${state}/${reason}`;
    const known = parts.get(key) ?? { label: reason, state, amount: 0, count: 0 };
    parts.set(key, { ...known, amount: known.amount + to - from, count: known.count + 1 });
  }
  const sorted = [...parts.values()].sort((a, b) => b.amount - a.amount || (a.label < b.label ? -1 : 1));
  return { words, unit: 'ms', amount: sorted.reduce((sum, { amount }) => sum + amount, 0), parts: sorted };
}

export function evidenceOf({ chamber, from, to, state, reason, run }: StateInterval, counts: string): Evidence {
  return { chamber, from, to, state, text: reason, counts, run, amount: to - from };
}

const WHY: Partial<Record<EquipmentState, string>> = {
  unobserved: 'nobody had word from the chamber; the bounds hold whatever it was',
  nonscheduled: 'the calendar plans no work; not in this base',
  'scheduled-downtime': 'planned, or laid elsewhere by a reason; not in this base',
  'unscheduled-downtime': 'laid elsewhere by a reason; not in this base',
};

export function excluded(intervals: readonly StateInterval[]): Draft['excluded'] {
  return [...Map.groupBy(intervals, ({ state }) => state)].map(([state, list]) => ({
    label: state,
    ms: list.reduce((sum, { from, to }) => sum + to - from, 0),
    why: WHY[state] ?? 'not in this base',
  }));
}
