/**
 * Counters and due dates explained.
 * [XK1] A count sums what each run added, and what has come since the last of them; time nobody observed is told as left out of it.
 * [XK2] A due date divides what is left by the mean use of the last weeks; each week is a part of that mean.
 */
import { type Counted, type CountedRun, ownCount } from './counters.ts';
import type { CounterTotal, MaintenanceLine } from './counter-answer.ts';
import { type AmountUnit, type Draft, type Evidence, type Ingredient, PLAIN, type Term } from './explanation.ts';
import { WEEK_MS, weeklyUse } from './maintenance-due.ts';

export const COUNTER_NUMBERS = ['counter', 'maintenance', 'maintenance-used'] as const;
export type CounterNumber = (typeof COUNTER_NUMBERS)[number];

const WORDS: Readonly<Record<Counted, string>> = { 'pump-hours': 'pump time', 'rf-hours': 'RF time', runs: 'runs' };
const unitOf = (counted: Counted): AmountUnit => (counted === 'runs' ? 'count' : 'ms');
const SOURCE = 'own count; the machine’s meter can be cleared and is a cross-check only';

type Of = { readonly chamber: string; readonly runs: readonly CountedRun[]; readonly counted: Counted };
type Added = { readonly from: number; readonly at: number; readonly amount: number };

/** What each run added, the time before it included. */
function added({ runs, counted }: Of, since: number | null): readonly Added[] {
  const first = since === null ? 0 : runs.findLastIndex(({ at }) => at <= since) + 1;
  return runs.slice(first).map(({ at, counts }, i) => {
    const before = runs[first + i - 1];
    return { from: before?.at ?? at, at, amount: ownCount(counts, counted) - (before ? ownCount(before.counts, counted) : 0) };
  });
}

const rows = ({ chamber }: Of, list: readonly Added[]): Evidence[] =>
  list.map(({ from, at, amount }) => ({
    chamber,
    from,
    to: at,
    state: null,
    text: 'up to the end of a run',
    counts: 'counts',
    run: null,
    amount,
  }));

function sumTerm(words: string, of: Of, list: readonly Added[]): Term {
  const amount = list.reduce((sum, one) => sum + one.amount, 0);
  return { words, unit: unitOf(of.counted), amount, parts: [{ label: words, state: null, amount, count: list.length }] };
}

/** [XK1] Since first watched. */
export function explainTotal(total: Pick<CounterTotal, 'own' | 'unobservedMs'> & { readonly meter: object | null }, of: Of): Draft {
  const list = added(of, null);
  const words = `${WORDS[of.counted]} since first watched`;
  return {
    ...PLAIN,
    words,
    unit: unitOf(of.counted),
    value: total.own,
    formula: `sum of what each run and the time before it added${total.meter === null ? '; the machine has no meter for it' : ''}`,
    source: SOURCE,
    numerator: sumTerm(words, of, list),
    excluded: unseen(total.unobservedMs),
    madeOf: rows(of, list),
  };
}

const unseen = (ms: number): Draft['excluded'] =>
  ms > 0 ? [{ label: 'unobserved', ms, why: 'nobody had word from the chamber: in no count' }] : [];

/** Time not observed since first watched. */
export function explainUnseen(ms: number, of: Of): Draft {
  const list = of.runs.map((run, i): Added => {
    const before = of.runs[i - 1];
    return { from: before?.at ?? run.at, at: run.at, amount: run.counts.unobservedMs - (before?.counts.unobservedMs ?? 0) };
  });
  const words = 'time not observed since first watched';
  const amount = list.reduce((sum, one) => sum + one.amount, 0);
  return {
    ...PLAIN,
    words,
    unit: 'ms',
    value: ms,
    formula: 'sum of the stretches without word from the chamber; it is in no other count',
    source: 'own rule: what nobody saw is not counted',
    numerator: { words, unit: 'ms', amount, parts: [{ label: words, state: null, amount, count: list.length }] },
    madeOf: rows(of, list).filter((row) => row.amount !== 0),
  };
}

/** [XK1] Since the last work on the part. */
export function explainUsed(line: MaintenanceLine, of: Of): Draft {
  const since = line.isSinceWork ? line.since : null;
  const list = added(of, since);
  const words = `${WORDS[line.counted]} since ${line.isSinceWork ? `work on the ${line.part}` : 'first watched: no work on it was told'}`;
  return {
    ...PLAIN,
    words,
    unit: unitOf(line.counted),
    value: line.used,
    formula: 'sum of what each run and the time before it added since',
    source: SOURCE,
    numerator: sumTerm(words, of, list),
    excluded: unseen(line.unobservedMs),
    madeOf: rows(of, list),
  };
}

/** [XK2] The time to go from the last run's end; no value where no day is told. */
export function explainDue(line: MaintenanceLine, of: Of): Draft {
  const weeks = weeklyUse(of.runs, of.counted);
  const now = of.runs.at(-1)?.at ?? 0;
  const mean = weeks.length === 0 ? 0 : weeks.reduce((sum, use) => sum + use, 0) / weeks.length;
  const toGo = (at: number | null): number | null => (at === null ? null : at - now);
  const isTold = line.state === 'due';
  const [left, unit] = [line.left, unitOf(line.counted)];
  const one = (words: string, amount: number, parts?: readonly Ingredient[]): Term => ({
    ...{ words, unit, amount },
    parts: parts ? [...parts] : [{ label: words, state: null, amount, count: 1 }],
  });
  const use = weeks.map((amount, i): Ingredient => {
    return { label: i === 0 ? 'the last week, of' : `${i + 1} weeks ago, of`, state: null, amount: amount / weeks.length, count: 1 };
  });
  return {
    ...PLAIN,
    words: `${line.name}: ${line.due}`,
    unit: 'ms',
    value: isTold ? toGo(line.likely) : null,
    low: isTold ? toGo(line.early) : null,
    high: isTold ? toGo(line.late) : null,
    bounds: isTold ? 'two standard deviations of the mean weekly use' : null,
    formula: 'what is left of the interval / mean weekly use of the last four weeks, from the end of the last run',
    ...(isTold ? {} : { worked: line.due }),
    base: line.isSinceWork ? `since work on the ${line.part}` : 'since first watched: no work on it was told',
    source: 'common practice, no source; the interval is of the site file',
    scale: WEEK_MS,
    numerator: one('left of the interval', left),
    denominator: isTold ? one('mean weekly use', mean, use) : null,
    excluded: unseen(line.unobservedMs),
    madeOf: rows(of, added(of, Math.max(line.isSinceWork ? (line.since ?? -Infinity) : -Infinity, now - weeks.length * WEEK_MS))),
    madeOfUnit: unit,
  };
}
