/**
 * Numbers made of things that happened: loads, failures, repairs, and the means made of them.
 * [XC1] Counts sum by what happened; a mean's numerator and count are those of the page, taken from the very stops, runs and stretches.
 */
import type { StateInterval } from './contract.ts';
import { isLoad } from './cycle-time.ts';
import type { RunEnded } from './event.ts';
import { type Draft, type Evidence, type Ingredient, PLAIN, type Term } from './explanation.ts';
import { timeTerm } from './explain-time.ts';
import type { Interrupt } from './interrupts.ts';
import type { MeanFigure, ReliabilityNumbers } from './kpi.ts';
import type { Span } from './calendar.ts';
import { MINUTE_MS } from './zone.ts';
import type { NominalTimes } from './effectiveness.ts';
import type { Part } from './window.ts';

type Named<T> = (one: T) => string;

/** [XC1] How many there are of each name. */
export function countTerm<T>(words: string, list: readonly T[], name: Named<T>): Term {
  const parts = [...Map.groupBy(list, name)].map(([label, group]): Ingredient => ({
    label,
    state: null,
    amount: group.length,
    count: group.length,
  }));
  return { words, unit: 'count', amount: list.length, parts: parts.sort((a, b) => b.amount - a.amount || (a.label < b.label ? -1 : 1)) };
}

/** [XC1] A number that is a count of what happened. */
export function counted(words: string, numerator: Term, rest: Pick<Draft, 'formula' | 'source' | 'madeOf'>): Draft {
  return { ...PLAIN, words, value: numerator.amount, unit: 'count', numerator, ...rest };
}

export const LOAD_OUTCOMES: ReadonlyMap<string, (run: RunEnded) => boolean> = new Map(
  Object.entries<(run: RunEnded) => boolean>({
    completed: isLoad,
    aborted: (run) => run.outcome === 'aborted' && !run.engineering,
    interrupted: (run) => run.outcome === 'interrupted' && !run.engineering,
    'not-fully-observed': (run) => run.outcome === 'not-fully-observed' && !run.engineering,
    engineering: (run) => run.engineering,
  }),
);

/** [XC1] Runs that ended in the window, of one outcome. */
export function explainRuns(words: string, chosen: (run: RunEnded) => boolean, parts: readonly Part[]): Draft {
  const runs = parts.flatMap((part) => part.runs.filter(chosen));
  return counted(
    words,
    countTerm(words, runs, (run) => run.recipe ?? 'recipe not known'),
    {
      formula: 'runs that ended in the window, wherever they began',
      source: 'common practice, no source: a load is a completed product run',
      madeOf: runs.map((run) => runEvidence(run, 1)),
    },
  );
}

export function runEvidence(run: RunEnded, amount: number): Evidence {
  const { chamber, startedAt, at, recipe, load, outcome } = run;
  const text = [recipe ?? 'recipe not known', load ?? 'load not named', outcome].join(', ');
  return { chamber, from: startedAt, to: at, state: null, text, counts: 'counts', run: run.run, amount };
}

type Kind = Interrupt['kind'];

const KIND_WORDS: Readonly<Record<Kind, string>> = {
  failure: 'failures',
  assist: 'assists',
  external: "stops that were not the equipment's",
};
const AMONG: Readonly<Record<string, readonly [words: string, isAmong: (stop: Interrupt) => boolean]>> = {
  'in-production': ['in production', ({ inProduction }) => inProduction],
  cut: ['cut by unobserved time', ({ cut }) => cut],
  open: ['still going on', ({ open }) => open],
};

/** [XC1] `among`: only those in production, cut, or still open; null for a name that is none of these. */
export function explainStops(kind: Kind, rule: string, { parts, among }: { parts: readonly Part[]; among: string }): Draft | null {
  const [more, isAmong] = among === '' ? ['', () => true] : (Object.hasOwn(AMONG, among) && AMONG[among]) || [null, () => false];
  if (more === null) return null;
  const stops = stopsOf(parts, (stop) => stop.kind === kind && isAmong(stop));
  const words = `${KIND_WORDS[kind]} ${more}`.trim();
  return counted(words, countTerm(words, stops, reasonOf), {
    formula: rule,
    source: 'SEMI E10, from memory',
    madeOf: stops.map((stop) => stopEvidence(stop, 1)),
  });
}

const stopsOf = (parts: readonly Part[], chosen: (stop: Interrupt) => boolean): readonly Interrupt[] =>
  parts.flatMap(({ stops }) => stops.filter(chosen));
const reasonOf = ({ reason }: Interrupt): string => reason;

function stopEvidence({ chamber, from, to, kind, reason, run, cut, open }: Interrupt, amount: number): Evidence {
  const told = cut ? `${kind}, length not known` : open ? `${kind}, still going on` : kind;
  return { chamber, from, to, state: 'unscheduled-downtime', text: reason, counts: told, run, amount };
}

export type MeanName = 'mtbf-productive' | 'mtbf-uptime' | 'mcbf' | 'mtb-assists' | 'mttr' | 'mtol';
export const MEAN_NAMES: readonly MeanName[] = ['mtbf-productive', 'mtbf-uptime', 'mcbf', 'mtb-assists', 'mttr', 'mtol'];

/** [XC1] */
export function explainMean(name: MeanName, numbers: ReliabilityNumbers, parts: readonly Part[]): Draft {
  const { figure, numerator, events } = MEANS[name](numbers, parts);
  const denominator = countTerm(events.words, events.list, ({ text }) => text);
  return {
    words: `${figure.name}: ${figure.words}`,
    unit: figure.unit,
    value: figure.estimate,
    low: figure.low,
    high: figure.high,
    bounds: `${Math.round(100 * figure.confidence)} % confidence, ${figure.sides}`,
    coverage: null,
    formula: figure.words.replace(' per ', ' / '),
    base: null,
    source: figure.rule,
    scale: 1,
    numerator,
    denominator,
    excluded: [],
    madeOf: [...events.list],
    madeOfUnit: name === 'mttr' ? 'ms' : 'count',
  };
}

type Mean = {
  readonly figure: MeanFigure;
  readonly numerator: Term;
  readonly events: { readonly words: string; readonly list: readonly Evidence[] };
};

export const intervalsIn = (parts: readonly Part[], states: readonly StateInterval['state'][]): readonly StateInterval[] =>
  parts.flatMap(({ intervals }) => intervals.filter(({ state }) => states.includes(state)));
const evidence = (list: readonly Interrupt[]): readonly Evidence[] => list.map((stop) => stopEvidence(stop, 1));
const isFailure = ({ kind }: Interrupt): boolean => kind === 'failure';
export const UP = ['productive', 'standby', 'engineering'] as const;

const MEANS: Readonly<Record<MeanName, (numbers: ReliabilityNumbers, parts: readonly Part[]) => Mean>> = {
  'mtbf-productive': (numbers, parts) => ({
    figure: numbers.mtbfProductive,
    numerator: timeTerm('productive time', intervalsIn(parts, ['productive'])),
    events: { words: 'failures in production', list: evidence(stopsOf(parts, (stop) => isFailure(stop) && stop.inProduction)) },
  }),
  'mtbf-uptime': (numbers, parts) => ({
    figure: numbers.mtbfUptime,
    numerator: timeTerm('uptime', intervalsIn(parts, UP)),
    events: { words: 'failures', list: evidence(stopsOf(parts, isFailure)) },
  }),
  mcbf: (numbers, parts) => ({
    figure: numbers.cyclesBetweenFailures,
    numerator: countTerm(
      'runs',
      parts.flatMap(({ runs }) => runs),
      ({ recipe }) => recipe ?? 'recipe not known',
    ),
    events: { words: 'failures', list: evidence(stopsOf(parts, isFailure)) },
  }),
  'mtb-assists': (numbers, parts) => ({
    figure: numbers.mtbAssists,
    numerator: timeTerm('productive time', intervalsIn(parts, ['productive'])),
    events: {
      words: 'assists in production',
      list: evidence(stopsOf(parts, ({ kind, inProduction }) => kind === 'assist' && inProduction)),
    },
  }),
  mttr: (numbers, parts) => {
    const repaired = stopsOf(parts, (stop) => isFailure(stop) && !stop.cut && !stop.open);
    return {
      figure: numbers.mttr,
      numerator: sumTerm('repair time without delay', repaired, ({ downMs, delayMs }) => downMs - delayMs),
      events: { words: 'failures repaired', list: repaired.map((stop) => stopEvidence(stop, stop.downMs - stop.delayMs)) },
    };
  },
  mtol: (numbers, parts) => ({
    figure: numbers.meanOffline,
    numerator: timeTerm('downtime', intervalsIn(parts, ['scheduled-downtime', 'unscheduled-downtime'])),
    events: { words: 'downtime events', list: parts.flatMap((part) => part.downtimeEvents.map((span) => eventEvidence(part, span))) },
  }),
};

function eventEvidence({ facts: { chamber } }: Part, { from, to }: Span): Evidence {
  return { chamber, from, to, state: null, text: 'downtime', counts: 'downtime event', run: null, amount: 1 };
}

function sumTerm(words: string, list: readonly Interrupt[], of: (stop: Interrupt) => number): Term {
  const parts = [...Map.groupBy(list, reasonOf)].map(([label, group]): Ingredient => ({
    label,
    state: 'unscheduled-downtime',
    amount: group.reduce((sum, stop) => sum + of(stop), 0),
    count: group.length,
  }));
  return {
    words,
    unit: 'ms',
    amount: parts.reduce((sum, { amount }) => sum + amount, 0),
    parts: parts.sort((a, b) => b.amount - a.amount),
  };
}

/** Loads times nominal process time, by recipe: the numerator of OEE. */
export function theoreticalParts(parts: readonly Part[], nominal: NominalTimes): readonly Ingredient[] {
  const loads = parts.flatMap(({ runs }) => runs.filter(isLoad));
  return [...Map.groupBy(loads, ({ recipe }) => recipe ?? '')].map(([recipe, group]) => {
    const { ms, loads: learned } = nominal.get(recipe) ?? { ms: 0, loads: 0 };
    const base = `nominal ${(ms / MINUTE_MS).toFixed(1)} min, which a tenth of ${learned} loads in the fleet beat`;
    const label = `${group.length} loads of ${recipe || 'recipe not known'}, ${base}`;
    return { label, state: null, amount: group.length * ms, count: group.length };
  });
}
