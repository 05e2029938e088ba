/**
 * ISO 22400-2, loads by shift, the loads that lost time would have held, and what a minute saved makes room for, each from its very parts.
 * [XE1] A figure whose input nobody tells has no value and says which input is missing.
 * [XE2] Lost time in loads sums each chamber's own rate over its own lost time.
 * [XE3] A saved minute divides the minutes saved by what the cycles then take, as throughput.ts [TP3] does.
 */
import type { StateInterval } from './contract.ts';
import { isLoad } from './cycle-time.ts';
import { counted, countTerm, runEvidence } from './explain-count.ts';
import { evidenceOf, excluded, timeTerm } from './explain-time.ts';
import { amountText } from './explain-words.ts';
import { type Draft, type Evidence, type Ingredient, PLAIN, type Term } from './explanation.ts';
import type { CyclePartName, IsoFigure, ShiftLoads } from './kpi.ts';
import { CYCLE_PARTS } from './kpi.ts';
import { causeOf, losses, type LoadRates } from './losses.ts';
import type { Loss } from './numbers.ts';
import { shiftNameAt } from './shift-loads.ts';
import { type Cycle, isBusy, savedMs, shortenedMs } from './throughput.ts';
import type { FleetWindow, Part } from './window.ts';
import { DAY_MS, HOUR_MS } from './zone.ts';

type Chosen = (interval: StateInterval) => boolean;
const isDelay: Chosen = ({ state, run }) => state === 'unscheduled-downtime' && run !== null;
const isPlanned: Chosen = ({ state }) => !['unobserved', 'nonscheduled', 'scheduled-downtime'].includes(state);
const isProductive: Chosen = ({ state }) => state === 'productive';
const isDown: Chosen = ({ state }) => state === 'scheduled-downtime' || state === 'unscheduled-downtime';
const either =
  (...choices: readonly Chosen[]): Chosen =>
  (interval) =>
    choices.some((chosen) => chosen(interval));

/** What is divided by what; the numerator null where it is loads and not time. */
const TIMES: Readonly<Record<string, readonly [words: string, counted: Chosen | null, baseWords: string, base: Chosen]>> = {
  availability: ['productive time', isProductive, 'planned busy time', isPlanned],
  effectiveness: ['nominal process time of the loads', null, 'productive time', isProductive],
  'technical efficiency': ['productive time', isProductive, 'productive time and stops in runs', either(isProductive, isDelay)],
  'allocation efficiency': ['productive time and stops in runs', either(isProductive, isDelay), 'planned busy time', isPlanned],
  'corrective maintenance ratio': ['unscheduled downtime', ({ state }) => state === 'unscheduled-downtime', 'all downtime', isDown],
  throughput: ['loads', null, 'planned busy time', isPlanned],
};
const SOURCE = 'in the manner of ISO 22400-2 (formulas seen in an open ontology of it)';

/** [XE1] `theoretical`: nominal process time of the loads, by recipe. */
export function explainIso(
  { name, value, unit, formula, missing }: IsoFigure,
  parts: readonly Part[],
  theoretical: readonly Ingredient[],
): Draft {
  const plain = { ...PLAIN, words: name, unit: unit === 'share' ? ('share' as const) : unit, value, formula, source: SOURCE };
  const found = Object.hasOwn(TIMES, name) ? TIMES[name] : undefined;
  if (missing !== null || !found)
    return { ...plain, formula: `${formula}: ${missing}`, worked: `not stated: ${missing}`, numerator: null, madeOf: [] };
  const [words, isCounted, baseWords, isBase] = found;
  const all = parts.flatMap(({ intervals }) => intervals);
  const numerator = isCounted
    ? timeTerm(words, all.filter(isCounted))
    : name === 'throughput'
      ? loadTerm(parts)
      : { words, unit: 'ms' as const, amount: sumOf(theoretical), parts: [...theoretical] };
  return {
    ...plain,
    base: baseWords,
    scale: name === 'throughput' ? HOUR_MS : 1,
    numerator,
    denominator: timeTerm(`observed ${baseWords}`, all.filter(isBase)),
    excluded: excluded(all.filter((one) => !isBase(one))),
    madeOf: all.filter(isBase).map((one) => evidenceOf(one, isCounted?.(one) ? 'counts' : 'in the base')),
    madeOfUnit: 'ms',
  };
}

const sumOf = (parts: readonly Ingredient[]): number => parts.reduce((sum, { amount }) => sum + amount, 0);
const loadsOf = (parts: readonly Part[]) => parts.flatMap(({ runs }) => runs.filter(isLoad));
const loadTerm = (parts: readonly Part[]): Term => countTerm('loads', loadsOf(parts), ({ recipe }) => recipe ?? 'recipe not known');

/** Loads that ended in a shift of that name; `perShift`: over how many there were. */
export function explainShift(line: ShiftLoads, perShift: boolean, { parts, shifts }: Pick<FleetWindow, 'parts' | 'shifts'>): Draft {
  const loads = loadsOf(parts).filter(({ at }) => shiftNameAt(shifts, at) === line.shift);
  const name = line.shift ?? 'outside every shift';
  const numerator = countTerm('loads', loads, ({ chamber }) => chamber);
  const draft = counted(`loads, ${name}`, numerator, {
    formula: 'loads whose run ended in a shift of that name, whoever loaded them',
    source: 'common practice, no source; shifts of the site file',
    madeOf: loads.map((run) => runEvidence(run, 1)),
  });
  if (!perShift) return draft;
  const denominator = countTerm('shifts that began in the window', Array.from({ length: line.shifts }), () => name);
  const formula = 'loads / shifts of that name that began in the window, those without a load too';
  return { ...draft, words: `loads per shift, ${name}`, value: line.loadsPerShift, formula, base: 'shifts', denominator };
}

const isOf =
  ({ state, cause }: Pick<Loss, 'state' | 'cause'>): Chosen =>
  (one) =>
    one.state === state && causeOf(one) === cause;

/** [XE2] */
export function explainLossLoads(loss: Loss, rate: LoadRates, parts: readonly Part[]): Draft {
  const ingredients = loss.chambers.map(({ chamber, lostMs }): Ingredient => {
    const per = rate(chamber) ?? 0;
    const label = `${chamber}: ${amountText(lostMs, 'ms')} at ${(per * HOUR_MS).toFixed(2)} loads/h`;
    return { label, state: loss.state, amount: per * lostMs, count: 1 };
  });
  return {
    ...PLAIN,
    words: `loads that the time lost to ${loss.cause} would have held`,
    unit: 'count',
    value: loss.loads,
    formula: "each chamber's lost time x its own loads per productive hour in the window (the fleet's where it made none)",
    base: null,
    source: 'common practice, no source; it says how large the hours are, not that work was waiting',
    numerator: { words: 'loads', unit: 'count', amount: sumOf(ingredients), parts: ingredients },
    madeOf: madeOfLoss(loss, parts),
    madeOfUnit: 'ms',
  };
}

/** How often a cause came: what goes on after nonscheduled time came once. */
export function explainLossTimes(loss: Loss, parts: readonly Part[]): Draft {
  const ingredients = parts.flatMap(({ facts, intervals }) => {
    const own = losses([intervals]).find(({ state, cause }) => state === loss.state && cause === loss.cause);
    return own ? [{ label: facts.chamber, state: loss.state, amount: own.occurrences, count: own.occurrences }] : [];
  });
  return {
    ...PLAIN,
    words: `times of ${loss.cause}`,
    unit: 'count',
    value: loss.occurrences,
    formula: 'stretches of this cause; one that goes on after nonscheduled time counts once',
    source: 'own rule',
    numerator: { words: 'times', unit: 'count', amount: sumOf(ingredients), parts: ingredients },
    madeOf: madeOfLoss(loss, parts),
    madeOfUnit: 'ms',
  };
}

const madeOfLoss = (loss: Loss, parts: readonly Part[]): Evidence[] =>
  parts.flatMap(({ intervals }) => intervals.filter(isOf(loss)).map((one) => evidenceOf(one, 'counts')));

const cyclesIn = (parts: readonly Part[], recipe: string | null): readonly Cycle[] =>
  parts.flatMap(({ cycles }) => cycles.filter((cycle) => recipe === null || cycle.recipe === recipe));

/** Whole cycles; `busy`: followed by less than a minute of idling. */
export function explainCycles(recipe: string | null, busy: boolean, parts: readonly Part[]): Draft {
  const cycles = cyclesIn(parts, recipe).filter((cycle) => !busy || isBusy(cycle));
  const draft = counted(
    busy ? 'cycles after which work was waiting' : 'whole cycles',
    countTerm('cycles', cycles, ({ recipe: of }) => of),
    {
      formula: busy ? 'cycles that idled less than a minute' : 'door closed to door closed at the next run, wholly seen',
      source: 'common practice, no source',
      madeOf: cycles.map(({ run, cycleMs }) => ({ ...runEvidence(run, cycleMs), from: run.doorClosedAt ?? run.startedAt })),
    },
  );
  return { ...draft, madeOfUnit: 'ms' };
}

type Minute = { readonly part: CyclePartName; readonly recipe: string | null; readonly busy: boolean; readonly value: number | null };

/** [XE3] */
export function explainMinute({ part, recipe, busy, value }: Minute, { parts, fleet }: Pick<FleetWindow, 'parts' | 'fleet'>): Draft {
  const cycles = cyclesIn(parts, recipe);
  const place = CYCLE_PARTS.indexOf(part);
  const counts = cycles.filter((cycle) => !busy || isBusy(cycle));
  const saved = term('a minute, or the whole part, in each cycle', counts, (cycle) => savedMs(cycle, place));
  const left = term('what the cycles then take without idling', cycles, (cycle) => shortenedMs(cycle, place));
  const weeks = (7 * DAY_MS) / (fleet.to - fleet.from);
  const figures = [amountText(saved.amount, 'ms'), `${cycles.length} cycles`, `${weeks.toFixed(2)} windows in a week`];
  return {
    ...PLAIN,
    words: `loads a week that a minute less of ${part} makes room for${busy ? ', where work was waiting' : ''}`,
    unit: 'count',
    value,
    formula: `minutes saved${busy ? ' in cycles that idled less than a minute' : ''} x cycles / what all cycles then take without idling, scaled to a week`,
    worked: `${figures.join(' x ')}  /  ${amountText(left.amount, 'ms')}  =  ${value === null ? 'not stated' : amountText(value, 'count')}`,
    base: 'whole cycles, door closed to door closed',
    source: 'common practice, no source; it brings them only if there is work for them',
    scale: cycles.length * weeks,
    numerator: saved,
    denominator: left,
    madeOf: counts.map((cycle) => runEvidence(cycle.run, savedMs(cycle, place))),
    madeOfUnit: 'ms',
  };
}

function term(words: string, cycles: readonly Cycle[], of: (cycle: Cycle) => number): Term {
  const parts = [...Map.groupBy(cycles, ({ recipe }) => recipe)].map(([label, group]): Ingredient => ({
    label,
    state: null,
    amount: group.reduce((sum, cycle) => sum + of(cycle), 0),
    count: group.length,
  }));
  return { words, unit: 'ms', amount: sumOf(parts), parts };
}
