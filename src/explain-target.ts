/**
 * Alarms beside their targets explained, by operator position or chamber.
 * [XA2] A share of time sums the periods that made it, a count lists what it counted; the value is that of the line that the page shows.
 */
import { chatterIndex, chattersSlowly, fleetingCount } from './alarm-chatter.ts';
import { activeSpans } from './alarm-spans.ts';
import { chatterHits, floodsOf, LOOK_BACK_MS, staleAlarms, TRAILING_MS, unseenOf } from './alarm-stats.ts';
import { anyObservedMs, closerLines, loadLines, MOST_IN_HOUR, MOST_IN_TEN, type Position, positionsOf, TOP } from './alarm-targets.ts';
import type { Span } from './calendar.ts';
import {
  activationsOf,
  ALARM_SOURCE,
  alarmEvidence,
  alarmName,
  alarmText,
  explainAlarms,
  explainPeak,
  ratePer,
  shareOfAll,
} from './explain-alarm.ts';
import { counted, countTerm } from './explain-count.ts';
import { amountText } from './explain-words.ts';
import { type Draft, type Evidence, PLAIN } from './explanation.ts';
import type { AlarmFact } from './facts.ts';
import type { TargetLine } from './kpi.ts';
import type { Part } from './window.ts';
import { DAY_MS, HOUR_MS } from './zone.ts';

type TargetAsked = { readonly name: string; readonly position: string; readonly positions: readonly Position[] };

/** [XA2] A measured value beside its target, of one operator position. Null for a line or position that is not there. */
export function explainTarget({ name, position, positions }: TargetAsked, parts: readonly Part[], window: Span): Draft | null {
  const placed = positionsOf(parts, positions).find((one) => one.name === position) ?? chamberAlone(parts, position);
  if (!placed) return null;
  const own = parts.filter(({ facts }) => placed.chambers.includes(facts.chamber));
  const line = [...loadLines(position, own, window), ...closerLines(position, own, window)].find((one) => one.name === name);
  if (!line) return null;
  const made = TARGETS.get(name)?.(own, window, line) ?? explainAlarms(own, window);
  const target = `${line.target}${line.most === null ? '' : `, at most ${line.most}`} ${line.unit === 'share' ? 'as a share' : line.unit}`;
  return {
    ...made,
    words: `${name}, ${position}: ${line.verdict}`,
    unit: line.unit,
    value: line.value,
    formula: `${made.formula}; target ${target}`,
    source: line.rule,
  };
}

/** A chamber stands for itself where no position has its name. */
function chamberAlone(parts: readonly Part[], name: string): Position | null {
  return parts.some(({ facts }) => facts.chamber === name) ? { name, chambers: [name] } : null;
}

type Target = (parts: readonly Part[], window: Span, line: TargetLine) => Draft;

const rate =
  (ms: number): Target =>
  (parts, window) => ({ ...explainAlarms(parts, window), ...ratePer(ms, parts) });

const TARGETS: ReadonlyMap<string, Target> = new Map<string, Target>([
  ['alarms per day', rate(DAY_MS)],
  ['alarms per hour', rate(HOUR_MS)],
  ['alarms per 10 min', rate(TRAILING_MS)],
  ['most in any 10 min', explainPeak],
  ['10-minute periods above 10', (parts, window) => ofTime(crowdedPeriods(parts, window, { ms: TRAILING_MS, most: MOST_IN_TEN }), parts)],
  ['hours above 30', (parts, window) => ofTime(crowdedPeriods(parts, window, { ms: HOUR_MS, most: MOST_IN_HOUR }), parts)],
  ['time in flood', (parts, window) => ofTime(floodPeriods(parts, window), parts)],
  ['share of the ten most frequent', topShare],
  ['chattering alarms', (parts, window) => ofAlarms('chattering alarms', chattering(parts, window))],
  ['chattering by index', (parts, window) => ofAlarms('alarms chattering by index', byIndex(parts, window))],
  ['chattering slowly', (parts, window) => ofAlarms('alarms chattering slowly', slowly(parts, window))],
  ['fleeting activations', fleeting],
  ['alarms standing over 24 h', standing],
]);

type Periods = {
  readonly words: string;
  readonly formula: string;
  readonly list: readonly (Span & { readonly alarms: readonly AlarmFact[] })[];
};

/** [XA2] A share of the time in which any of the chambers was observed. */
function ofTime({ words, formula, list }: Periods, parts: readonly Part[]): Draft {
  const madeOf = list.map(({ from, to, alarms }): Evidence => {
    const text = `${alarms.length} activations, ${[...new Set(alarms.map(({ chamber }) => chamber))].join(', ')}`;
    return { chamber: alarms[0]?.chamber ?? null, from, to, state: null, text, counts: 'counts', run: null, amount: to - from };
  });
  const amount = list.reduce((sum, { from, to }) => sum + to - from, 0);
  const any = { label: 'time in which any of the chambers was observed', state: null, amount: anyObservedMs(parts), count: parts.length };
  return {
    ...PLAIN,
    words,
    unit: 'share',
    value: any.amount > 0 ? amount / any.amount : null,
    formula,
    base: any.label,
    source: ALARM_SOURCE,
    numerator: { words, unit: 'ms', amount, parts: list.length === 0 ? [] : [{ label: words, state: null, amount, count: list.length }] },
    denominator: { words: any.label, unit: 'ms', amount: any.amount, parts: [any] },
    madeOf,
  };
}

function crowdedPeriods(parts: readonly Part[], window: Span, { ms, most }: { readonly ms: number; readonly most: number }): Periods {
  const periods = [...Map.groupBy(activationsOf(parts, window), ({ at }) => Math.floor(at / ms))].filter(
    ([, alarms]) => alarms.length > most,
  );
  return {
    words: `periods of ${amountText(ms, 'ms')} with more than ${most} activations`,
    formula: `periods of ${amountText(ms, 'ms')}, aligned to UTC, with more than ${most} activations / observed time`,
    list: periods.map(([n, alarms]) => ({ from: n * ms, to: (n + 1) * ms, alarms })),
  };
}

function floodPeriods(parts: readonly Part[], window: Span): Periods {
  const chambers = parts.map(({ facts }) => facts);
  const wide = activationsOf(parts, { from: window.from - LOOK_BACK_MS, to: window.to });
  return {
    words: 'time in flood',
    formula: 'from above 10 until below 5 activations in the trailing 10 minutes / observed time',
    list: floodsOf(chambers, window).map((span) => ({ ...span, alarms: wide.filter(({ at }) => at >= span.from && at <= span.to) })),
  };
}

function topShare(parts: readonly Part[], window: Span): Draft {
  const all = activationsOf(parts, window);
  const codes = [...Map.groupBy(all, (alarm) => `${alarm.chamber}/${alarm.code}`).values()];
  const top = codes
    .sort((a, b) => b.length - a.length)
    .slice(0, TOP)
    .flat();
  const draft = counted('the ten most frequent alarms', countTerm('activations of the ten most frequent', top, alarmName), {
    formula: '',
    source: ALARM_SOURCE,
    madeOf: top.map(alarmEvidence),
  });
  const formula = 'activations of the ten most frequent alarms / all activations';
  return { ...draft, ...shareOfAll(draft.words, draft, all), formula, base: 'all activations' };
}

/** Each list is of one alarm. */
function ofAlarms(words: string, lists: readonly (readonly AlarmFact[])[]): Draft {
  const firsts = lists.flatMap(([first]) => first ?? []);
  return counted(words, countTerm(words, firsts, alarmName), {
    formula: 'alarms for which the rule holds, each counted once',
    source: ALARM_SOURCE,
    madeOf: lists.flat().map((alarm) => ({ ...alarmEvidence(alarm), amount: null })),
  });
}

const byAlarm = (parts: readonly Part[], window: Span): readonly (readonly AlarmFact[])[] => [
  ...Map.groupBy(activationsOf(parts, window), ({ chamber, code }) => `${chamber}/${code}`).values(),
];
const timesOf = (alarms: readonly AlarmFact[]): readonly number[] => alarms.map(({ at }) => at);
const chattering = (parts: readonly Part[], window: Span) => byAlarm(parts, window).filter((own) => chatterHits(timesOf(own)).length > 0);
const byIndex = (parts: readonly Part[], window: Span) => byAlarm(parts, window).filter((own) => chatterIndex(timesOf(own)).byIndex);

type Stood = { readonly alarms: readonly AlarmFact[]; readonly spans: ReturnType<typeof activeSpans> };
const stood = (parts: readonly Part[], window: Span): readonly Stood[] =>
  parts.flatMap(({ facts, intervals }) =>
    [...facts.alarmsByCode.values()].map((alarms) => ({ alarms, spans: activeSpans(alarms, window, unseenOf(intervals)) })),
  );

const inside = (alarms: readonly AlarmFact[], { from, to }: Span): readonly AlarmFact[] => {
  const own = alarms.filter(({ at, change }) => change === 'activated' && at >= from && at < to);
  return own.length > 0 ? own : alarms.slice(-1);
};
const slowly = (parts: readonly Part[], window: Span) =>
  stood(parts, window)
    .filter(({ spans }) => chattersSlowly(spans))
    .map(({ alarms }) => inside(alarms, window));

function fleeting(parts: readonly Part[], window: Span): Draft {
  const found = stood(parts, window).flatMap(({ alarms, spans }) => {
    const count = fleetingCount(spans);
    return count === 0 ? [] : [{ alarm: inside(alarms, window)[0] as AlarmFact, count }];
  });
  const ingredients = found.map(({ alarm, count }) => ({ label: alarmName(alarm), state: null, amount: count, count }));
  const amount = ingredients.reduce((sum, one) => sum + one.amount, 0);
  return {
    ...counted(
      'fleeting activations',
      { words: 'fleeting activations', unit: 'count', amount, parts: ingredients },
      {
        formula: 'activations that cleared at once, by alarm',
        source: ALARM_SOURCE,
        madeOf: found.map(({ alarm, count }) => ({ ...alarmEvidence(alarm), amount: count })),
      },
    ),
  };
}

function standing(parts: readonly Part[], window: Span): Draft {
  const stale = staleAlarms(parts, window);
  const facts = stale.map(({ fact }) => fact);
  return counted('alarms standing over 24 h', countTerm('alarms', facts, alarmName), {
    formula: 'alarms that stood for more than 24 h of observed time, and in the window',
    source: ALARM_SOURCE,
    madeOf: stale.map(({ fact, span, observedMs }): Evidence => {
      const counts = `${fact.priority}, stood ${amountText(observedMs, 'ms')} observed`;
      return { chamber: fact.chamber, ...span, state: null, text: alarmText(fact), counts, run: null, amount: 1 };
    }),
  });
}
