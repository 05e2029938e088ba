/**
 * Every number of a run's page opens: what was measured over which stretches of the run, by which rule, and what was left out.
 * [XR1] The explained value is the stored one, null where that is not known; sums and quotients also show their terms.
 * [XR2] What is usual lists each good run with its value; of fewer runs than a band needs nothing is stated.
 * [XR3] Time of the run that nobody observed is told as left out of every number but the length of the run itself.
 */
import { explainRunFigure } from './explain-run-figure.ts';
import { explainStretch, stretchesOf } from './explain-run-stretch.ts';
import { type AskedNumber, explanationOf } from './explain-frame.ts';
import type { SiteUnits } from './explain-words.ts';
import { type AmountUnit, type Draft, type Evidence, type Explanation, type Ingredient, PLAIN } from './explanation.ts';
import type { RunEnded } from './event.ts';
import { BAND_RUNS, FEWEST_BAND_RUNS } from './run-band.ts';
import type { RunRecord } from './run-facts.ts';
import { type FigureUnit, type RecordedRun, runFigures } from './run-figure.ts';
import { ascending, percentile } from './stats.ts';

export type ExplainedRun = {
  readonly run: RunEnded;
  /** Null for a run of before records were made: its times are known all the same. */
  readonly record: RunRecord | null;
  /** Good runs of its recipe before it, of this chamber and of its sisters. */
  readonly own: readonly RecordedRun[];
  readonly sisters: readonly RecordedRun[];
};

/** [XR1]-[XR3] Null for a name that is no number of this run. */
export function explainRun(asked: AskedNumber, given: ExplainedRun, units: SiteUnits): Explanation | null {
  const [kind = '', ...rest] = asked.number.split('/');
  const { run } = given;
  const draft = EXPLAINERS.get(kind)?.(rest, given) ?? null;
  return draft && explanationOf(asked, draft, { span: { from: run.startedAt, to: run.at }, run: run.run, units });
}

type Explainer = (rest: readonly string[], given: ExplainedRun) => Draft | null;
type Recorded = (rest: readonly string[], run: RunEnded, record: RunRecord) => Draft | null;
const recorded =
  (explained: Recorded): Explainer =>
  (rest, { run, record }) =>
    record && explained(rest, run, record);

const EXPLAINERS: ReadonlyMap<string, Explainer> = new Map(
  Object.entries<Explainer>({
    'process-time': (_, { run }) => explainProcessTime(run),
    phase: ([phase = ''], { run }) =>
      explainTimes(
        `time of ${phase}`,
        run,
        run.phases.filter((span) => span.phase === phase),
      ),
    coverage: (_, { run }) => explainSeen(run),
    stretch: ([from = '', ...what], { run, record }) => explainStretch({ from: Number(from), what: what.join('/') }, run, record),
    figure: recorded((name, run, record) => explainRunFigure(name.join('/'), run, record)),
    deviations: recorded((_, run, record) => explainDeviations(run, record)),
    alarm: recorded((code, run, record) => explainRunAlarm(code.join('/'), run, record)),
    usual: (name, given) => explainUsualRuns(name.join('/'), given, 'own'),
    sisters: (name, given) => explainUsualRuns(name.join('/'), given, 'sisters'),
    count: recorded(([what = ''], run, { counts }) => explainCount(what, run, counts)),
  }),
);

/** Sums of stretches; null where there is none. */
function explainTimes(words: string, run: RunEnded, spans: RunEnded['phases']): Draft | null {
  if (spans.length === 0) return null;
  const parts = spans.map(({ phase, step, from, to }): Ingredient => {
    return { label: step === null ? phase : `${phase} step ${step}`, state: null, amount: to - from, count: 1 };
  });
  const amount = parts.reduce((sum, part) => sum + part.amount, 0);
  return {
    ...PLAIN,
    words,
    unit: 'ms',
    value: amount,
    formula: 'sum of its stretches in this run',
    source: 'common practice, no source; phases by the rules of phase.ts',
    numerator: { words, unit: 'ms', amount, parts },
    madeOf: stretchesOf(run, spans),
  };
}

function explainProcessTime(run: RunEnded): Draft | null {
  const draft = explainTimes('process time', run, run.phases);
  if (!draft?.numerator) return null;
  const value = run.at - run.startedAt;
  const rest = value - draft.numerator.amount;
  const parts = rest === 0 ? [] : [{ label: 'in no phase that was told', state: null, amount: rest, count: 1 }];
  const numerator = { ...draft.numerator, amount: value, parts: [...draft.numerator.parts, ...parts] };
  return { ...draft, value, formula: 'pump-down start to the chamber back at atmosphere', numerator };
}

function explainSeen(run: RunEnded): Draft {
  const whole = run.at - run.startedAt;
  const term = (words: string, amount: number) => ({
    words,
    unit: 'ms' as const,
    amount,
    parts: [{ label: words, state: null, amount, count: 1 }],
  });
  return {
    ...PLAIN,
    words: 'observed part of the run',
    unit: 'share',
    value: whole > 0 ? run.observedMs / whole : 1,
    formula: 'observed time of the run / its length',
    base: 'length of the run',
    source: 'own rule, on OPC UA part 13, 5.4.3.23: time of bad data is not counted',
    numerator: term('observed', run.observedMs),
    denominator: whole > 0 ? term('length', whole) : null,
    madeOf: stretchesOf(run, run.phases),
  };
}

function explainDeviations(run: RunEnded, { deviations }: RunRecord): Draft {
  const parts = [...Map.groupBy(deviations, ({ code }) => code)].map(([label, { length }]): Ingredient => {
    return { label, state: null, amount: length, count: length };
  });
  return {
    ...PLAIN,
    words: 'deviations',
    unit: 'count',
    value: deviations.length,
    formula: 'limits that were not kept, each told once with its size; what is not known deviates from nothing',
    source: 'limits: trade practice, no source; no verdict on the boards',
    numerator: { words: 'deviations', unit: 'count', amount: deviations.length, parts },
    madeOf: deviations.map(({ code, text, step }): Evidence => {
      const span = run.phases.find((phase) => step !== null && phase.step === step) ?? { from: run.startedAt, to: run.at };
      return { chamber: run.chamber, from: span.from, to: span.to, state: null, text, counts: code, run: run.run, amount: 1 };
    }),
  };
}

function explainRunAlarm(code: string, run: RunEnded, { alarms }: RunRecord): Draft | null {
  const own = alarms.filter((alarm) => alarm.code === code);
  const text = own[0]?.text;
  if (text === undefined) return null;
  return {
    ...PLAIN,
    words: `activations of ${text} during the run`,
    unit: 'count',
    value: own.length,
    formula: 'times it became active during the run; shelved alarms and notices left out',
    source: 'in the manner of ISA-18.2',
    numerator: {
      words: 'activations',
      unit: 'count',
      amount: own.length,
      parts: [{ label: text, state: null, amount: own.length, count: own.length }],
    },
    madeOf: own.map(({ at, priority }): Evidence => {
      return { chamber: run.chamber, from: at, to: at, state: null, text, counts: priority, run: run.run, amount: 1 };
    }),
  };
}

export const unitOf = (unit: FigureUnit): AmountUnit => (unit === '1' ? 'share' : unit);

/** [XR2] */
function explainUsualRuns(name: string, given: ExplainedRun, of: 'own' | 'sisters'): Draft | null {
  const { run, record } = given;
  const figure = record && runFigures({ run, record }).find((one) => one.name === name);
  if (!figure) return null;
  const known = given[of].flatMap((one) => {
    const value = runFigures(one).find((other) => other.name === name)?.value ?? null;
    return value === null ? [] : [{ run: one.run, value }];
  });
  const values = ascending(known.map(({ value }) => value));
  const isEnough = values.length >= FEWEST_BAND_RUNS;
  const at = (p: number): number | null => (isEnough ? percentile(values, p) : null);
  return {
    ...PLAIN,
    words: `usual ${figure.words}, ${of === 'own' ? 'this chamber' : 'sister chambers'}`,
    unit: unitOf(figure.unit),
    value: at(0.5),
    low: at(0.1),
    high: at(0.9),
    bounds: '10th to 90th percentile',
    also: [
      { number: `figure/${name}`, words: 'this run' },
      of === 'own'
        ? { number: `sisters/${name}`, words: 'usual in sister chambers' }
        : { number: `usual/${name}`, words: 'usual in this chamber' },
    ],
    formula: `median of up to ${BAND_RUNS} last good runs of this recipe before this one${of === 'own' ? '' : ', of each sister'}; of fewer than ${FEWEST_BAND_RUNS} none is stated`,
    base: `${values.length} good runs: completed, wholly observed, without a deviation`,
    source: 'percentile by NIST e-Handbook 7.2.6.2 (type 6); the choice of runs: own rule',
    numerator: null,
    madeOf: known.map(({ run: one, value }): Evidence => {
      const { chamber, startedAt, at: to, load } = one;
      return { chamber, from: startedAt, to, state: null, text: load ?? 'load not named', counts: 'good run', run: one.run, amount: value };
    }),
    madeOfUnit: unitOf(figure.unit),
  };
}

const COUNTED: Readonly<Record<string, readonly [words: string, of: keyof RunRecord['counts'], formula: string]>> = {
  pump: ['pump time since first watched', 'pumpMs', 'time in which the pump was known to run'],
  rf: ['RF time since first watched', 'rfMs', 'time in which RF was known to be on'],
  runs: ['runs since first watched', 'runs', 'each run counted once, when it ended, whatever became of it'],
  unobserved: [
    'time not observed since first watched',
    'unobservedMs',
    'time in which nobody had word from the chamber; in no other count',
  ],
};

/** The chamber's own counts at the end of the run. */
function explainCount(what: string, run: RunEnded, counts: RunRecord['counts']): Draft | null {
  const found = Object.hasOwn(COUNTED, what) ? COUNTED[what] : undefined;
  if (!found) return null;
  const [words, of, formula] = found;
  const isTime = of !== 'runs';
  return {
    ...PLAIN,
    words,
    unit: isTime ? 'ms' : 'count',
    value: counts[of],
    formula: `${formula}, from the first word of the chamber to the end of this run`,
    source: 'own count; the machine’s meter can be cleared and is a cross-check only',
    numerator: null,
    excluded:
      of === 'unobservedMs' ? [] : [{ label: 'unobserved', ms: counts.unobservedMs, why: 'nobody had word from the chamber: in no count' }],
    madeOf: stretchesOf(run, run.phases).map((row) => ({ ...row, amount: null })),
  };
}
