/**
 * Has a chamber changed? One figure per run of one chamber and recipe, judged against the same chamber's own beginning.
 * [DR1] The baseline is the first good runs after the last maintenance, 20 unless told otherwise and never under 10, then frozen: a slow drift must
 *       not teach its own baseline. Until it is full the verdict is "learning". A figure that comes once a week at most, of leak tests and empty
 *       runs, is learned from five: ten would take a quarter of a year.
 * [DR2] A run in the baseline beyond a modified z-score of 3.5 is left out of it, and no moving range bridges it; so neither does one wet load
 *       widen the limits.
 * [DR3] Judged after the baseline: beyond 3 sigma, nine on the same side, and an EWMA (λ 0.2) beyond 3 of its own sigma. Limits are widened for what
 *       a short baseline does not know: its mean is off by sigma/√n, and its sigma by about 1 part in √(2n). Nine on the same side count only beyond
 *       that band of the mean, or a mean a little off would be nine on one side for ever.
 * [DR4] One run cannot carry the average: beyond 3 sigma it counts as 3.
 * [DR5] Shifted: the average or nine on the same side say so at the last run. Odd run: only the last run is beyond 3 sigma. What is shifted began
 *       with the run after the average last stood within one of its own sigma, or where three runs in a row were last the usual ones, whichever came
 *       later; its size is the median of the last nine runs since, or of as few as four where only those are sure of it.
 * [DR8] A chamber has some forty charts, each looked at after every run: a shift is told when its size is sure too, from four runs on, and further
 *       from the usual than five standard errors of that median and of the baseline's mean.
 * [DR10] Nor may it be what the chamber does now and then: of its own runs before (baseline and since, whatever their spread) the share that stood at
 *       least half-way to the shift gives the chance that so many of the last runs do, and a shift is told only where that is under five in a million.
 *       Some forty charts are looked at three hundred times a month: chance is left one false shift in some twenty chamber-months at the most. Figures
 *       that come once a week are looked at so seldom that one in a thousand is as good. (Binomial; no shape of the spread is assumed.)
 * [DR9] A shift must still be there: the median of the last three runs tells it too. What went back is steady again.
 * [DR6] A change too small to be worth telling is steady.
 * [DR7] A run without the figure is passed over; runs before the last maintenance do not count.
 */
import { atLeast } from './binomial.ts';
import { ewma, ewmaReach, individuals, MODIFIED_Z_LIMIT, modifiedZ, stretches } from './control-chart.ts';
import type { DriftMeasure } from './drift-measure.ts';
import { charted as fromChart, charting, isWorthTelling, leastSigma, shown } from './drift-measure.ts';
import { ruleHits } from './run-rules.ts';
import { median } from './stats.ts';

export type MeasuredRun = {
  readonly run: string;
  readonly at: number;
  readonly value: number | null;
  /** Completed, wholly observed, nothing wrong: fit to be a baseline. */
  readonly good: boolean;
};
export type DriftInput = {
  readonly measure: DriftMeasure;
  /** Ascending in time. */
  readonly runs: readonly MeasuredRun[];
  /** Instants at which pump, gauge, gas, match or seals were worked on. */
  readonly maintenance: readonly number[];
  readonly baselineRuns?: number;
  /** [DR1] Comes once a week at most. */
  readonly isRare?: boolean;
  /** [DR8] Standard errors by which a shift must be sure; 0 tells whatever the chart says. */
  readonly sureBy?: number;
};

export type DriftReason = 'beyond 3 sigma' | 'nine on the same side' | 'moving average';
type DriftSignal = {
  readonly value: number;
  readonly usual: number;
  readonly sigma: number;
  /** Value minus usual, in SI, and as a share of the usual; null where the usual is 0. */
  readonly change: number;
  readonly changeShare: number | null;
  readonly since: { readonly run: string; readonly at: number };
  readonly runsSince: number;
  /** The last run that itself showed at least half of the change. */
  readonly lastShownAt: number;
  readonly reasons: readonly DriftReason[];
};
export type DriftVerdict =
  | { readonly state: 'learning'; readonly runs: number; readonly needed: number }
  /** `lean`: where the moving average stands, in its own sigma. */
  | { readonly state: 'steady'; readonly usual: number; readonly sigma: number; readonly runs: number; readonly lean: number }
  | ({ readonly state: 'odd-run' | 'shifted' } & DriftSignal);

export const BASELINE_RUNS = 20;
const FEWEST_BASELINE_RUNS = 10;
const RARE_BASELINE_RUNS = 5;
export const LAMBDA = 0.2;
const WIDTH = 3;
const SIZE_RUNS = 9;
export const SURE_BY = 5;
const SURE_RUNS = 4;
const STILL_RUNS = 3;
/** Of a median, in those of a mean, of normal values. */
const MEDIAN_ERROR = Math.sqrt(Math.PI / 2);

type ChartedRun = MeasuredRun & { readonly value: number };
type Run = ChartedRun;
/** `usual` and `sigma` in SI; `centre` and `spread` the same as they are charted. */
export type Baseline = {
  readonly usual: number;
  readonly sigma: number;
  readonly n: number;
  readonly centre: number;
  readonly spread: number;
};

/** What the runs since the last maintenance teach, and which of them are judged by it. */
type Teaching = {
  readonly needed: number;
  /** Good runs of the baseline, those left out of it included. */
  readonly taught: readonly ChartedRun[];
  readonly base: Baseline | null;
  readonly judged: readonly ChartedRun[];
};

/** [DR1]-[DR7] */
export function drift(input: DriftInput): DriftVerdict {
  const { needed, taught, base, judged } = teaching(input);
  return base === null ? { state: 'learning', runs: taught.length, needed } : verdict({ taught, runs: judged }, base, input);
}

/** [DR1] [DR7] */
export function teaching({ measure, runs, maintenance, baselineRuns = BASELINE_RUNS, isRare = false }: DriftInput): Teaching {
  const needed = isRare ? RARE_BASELINE_RUNS : Math.max(FEWEST_BASELINE_RUNS, baselineRuns);
  const mark = maintenance.reduce((a, b) => Math.max(a, b), -Infinity);
  const since = runs.filter(({ at }) => at > mark).filter(hasValue);
  const taught = since.filter(({ good }) => good).slice(0, needed);
  const base = taught.length < needed ? null : baseline(taught, measure);
  return { needed, taught, base, judged: base === null ? [] : since.slice(since.indexOf(taught.at(-1) as Run) + 1) };
}

const hasValue = (run: MeasuredRun): run is Run => run.value !== null;

/** [DR2] [DM2] [DM4] */
function baseline(runs: readonly Run[], measure: DriftMeasure): Baseline | null {
  const left = leftOut(runs, measure);
  const kept = runs.map((run) => ({ at: run.at, value: left.has(run) ? null : charting(measure, run.value) }));
  const chart = individuals(stretches(kept, []));
  if (chart === null) return null;
  const usual = fromChart(measure, chart.mean);
  const perUnit = measure.isProportional ? usual : 1;
  const sigma = Math.max(chart.sigma * perUnit, leastSigma(measure, usual));
  return { usual, sigma, n: chart.n, centre: chart.mean, spread: sigma / perUnit };
}

/** [DR2] The runs of a baseline that stand too far off to be of it. */
export function leftOut(runs: readonly Run[], measure: DriftMeasure): ReadonlySet<Run> {
  const scores = modifiedZ(runs.map(({ value }) => charting(measure, value)));
  return new Set(runs.filter((_, i) => Math.abs(scores[i] ?? 0) > MODIFIED_Z_LIMIT));
}

type Judged = { readonly taught: readonly Run[]; readonly runs: readonly Run[] };

function verdict({ taught, runs }: Judged, base: Baseline, { measure, sureBy = SURE_BY, isRare = false }: DriftInput): DriftVerdict {
  const chart = charted(runs, base, measure);
  const lean = (WIDTH * (chart.level.at(-1) ?? 0)) / levelReach(base, Math.max(1, runs.length));
  const steady = { state: 'steady', usual: base.usual, sigma: base.sigma, runs: runs.length, lean } as const;
  const reasons = reasonsAt(chart, base, runs.length - 1);
  const shifting = reasons.some((reason) => reason !== 'beyond 3 sigma');
  const shift = shifting ? sized({ taught, runs }, base, { measure, sureBy, isRare, from: onset(chart.level, base, reasons) }) : null;
  if (shift !== null) return { state: 'shifted', ...shift, reasons };
  if (!reasons.includes('beyond 3 sigma')) return steady;
  const odd = measured(runs, base, { from: runs.length - 1, of: 1 });
  return isWorthTelling(measure, odd.value, base.usual) ? { state: 'odd-run', ...odd, reasons: ['beyond 3 sigma'] } : steady;
}

type Sizing = { readonly measure: DriftMeasure; readonly sureBy: number; readonly isRare: boolean; readonly from: number };

/** [DR5] [DR6] [DR8] [DR10] Null when its size is not sure, or not worth telling. */
function sized({ taught, runs }: Judged, base: Baseline, { measure, sureBy, isRare, from }: Sizing): Omit<DriftSignal, 'reasons'> | null {
  const most = Math.min(SIZE_RUNS, runs.length - from);
  for (let of = most; of >= (sureBy === 0 ? most : SURE_RUNS); of--) {
    const signal = measured(runs, base, { from, of });
    const error = wideSpread(base) * MEDIAN_ERROR * Math.sqrt(1 / of + 1 / base.n);
    const isSure = Math.abs(charting(measure, signal.value) - base.centre) > sureBy * error;
    if (!isSure || !isWorthTelling(measure, signal.value, base.usual)) continue;
    if (!isStillThere(runs, base, { measure, signal })) return null;
    const begin = begun(runs, base, { measure, signal, from });
    const isNoChanceFrom = (first: number): boolean =>
      isNoChance({ before: [...taught, ...runs.slice(0, first)], since: runs.slice(first) }, base, { measure, signal, isRare });
    // Of all runs since the average left, or of those since it came again.
    const isTold = sureBy === 0 || isNoChanceFrom(from) || isNoChanceFrom(runs.length - begin.runsSince);
    return isTold ? { ...signal, ...begin } : null;
  }
  return null;
}

const CHANCE = 5e-6;
const RARE_CHANCE = 1e-3;
const COUNTED_RUNS = 20;

/** [DR10] */
function isNoChance(
  { before, since }: { readonly before: readonly Run[]; readonly since: readonly Run[] },
  { centre }: Baseline,
  { measure, signal, isRare }: Shown & { readonly isRare: boolean },
): boolean {
  const halfWay = (charting(measure, signal.value) - centre) / 2;
  const shows = ({ value }: Run): boolean => (charting(measure, value) - centre) / halfWay >= 1;
  const last = since.slice(-COUNTED_RUNS);
  const share = (before.filter(shows).length + 1) / (before.length + 2);
  return atLeast(last.filter(shows).length, { of: last.length, share }) < (isRare ? RARE_CHANCE : CHANCE);
}

export type Chart = { readonly z: readonly number[]; readonly level: readonly number[] };

/** [DR3] Of single values, widened for what so short a baseline does not know of its spread. */
export const wideSpread = ({ spread, n }: Baseline): number => spread * (1 + 1 / Math.sqrt(2 * n));
/** [DR3] How far a single value may stand off in widened sigma, of which the share is that the mean is not known either. */
export const singleReach = ({ n }: Baseline): number => WIDTH * Math.sqrt(1 + 1 / n);
/** [DR3] The same for the moving average after the `i`-th judged run, or in the long run. */
export const levelReach = ({ n }: Baseline, i = Infinity): number =>
  Math.hypot(ewmaReach({ sigma: 1, lambda: LAMBDA, width: WIDTH, i }), (WIDTH * (1 - (1 - LAMBDA) ** i)) / Math.sqrt(n));

/** [DR3] [DR4] In units of the widened sigma of single values; `level` is the moving average of the clipped ones. */
export function charted(runs: readonly Run[], base: Baseline, measure: DriftMeasure): Chart {
  const [usual, wide] = [base.centre, wideSpread(base)];
  const z = runs.map(({ value }) => (charting(measure, value) - usual) / wide);
  const clipped = z.map((value) => Math.max(-WIDTH, Math.min(WIDTH, value)));
  return { z, level: ewma(clipped, { start: 0, lambda: LAMBDA }) };
}

/** [DR3] [DR5] What speaks at the run of that index. */
export function reasonsAt({ z, level }: Chart, base: Baseline, index: number): readonly DriftReason[] {
  if (index < 0) return [];
  const reasons: DriftReason[] = Math.abs(z[index] as number) > singleReach(base) ? ['beyond 3 sigma'] : [];
  if (areOnOneSide(z.slice(Math.max(0, index - 8), index + 1), base)) reasons.push('nine on the same side');
  return Math.abs(level[index] as number) > levelReach(base, index + 1) ? [...reasons, 'moving average'] : reasons;
}

/** [DR3] Nine, each beyond the band in which the mean may lie. */
function areOnOneSide(last: readonly number[], { n }: Baseline): boolean {
  const beyond = last.map((value) => (Math.abs(value) > 1 / Math.sqrt(n) ? value : 0));
  return ruleHits(beyond, ['nine-same-side']).some(({ index }) => index === last.length - 1);
}

/** [DR5] The index after the last on which the average stood within its own sigma, or on the other side; of nine on one side the first at the latest. */
function onset(level: readonly number[], base: Baseline, reasons: readonly DriftReason[]): number {
  const side = Math.sign(level.at(-1) as number);
  const crossed = level.findLastIndex((value) => side * value < levelReach(base) / WIDTH) + 1;
  return reasons.includes('nine on the same side') ? Math.min(crossed, level.length - 9) : crossed;
}

type Shown = { readonly measure: DriftMeasure; readonly signal: Omit<DriftSignal, 'reasons'> };

/** [DR9] */
const isStillThere = (runs: readonly Run[], base: Baseline, shown: Shown): boolean => showsAt(runs, base, { ...shown, end: runs.length });

/** Whether the three runs before index `end` tell the shift. */
function showsAt(runs: readonly Run[], { usual }: Baseline, { measure, signal, end }: Shown & { readonly end: number }): boolean {
  const now = median(runs.slice(Math.max(0, end - STILL_RUNS), end).map(({ value }) => value));
  return (now - usual) * signal.change > 0 && isWorthTelling(measure, now, usual);
}

/** [DR5] The average may stand off by a hair for weeks between two shifts: the later one began after the usual runs between them. */
function begun(
  runs: readonly Run[],
  base: Baseline,
  { from, ...shown }: Shown & { readonly from: number },
): Pick<DriftSignal, 'since' | 'runsSince'> {
  let end = runs.length;
  while (end > from + STILL_RUNS && showsAt(runs, base, { ...shown, end: end - 1 })) end--;
  // Never later than the runs without which no shift is told [DR8].
  const first = end > from + STILL_RUNS ? Math.max(from, Math.min(end - (STILL_RUNS + 1) / 2, runs.length - SURE_RUNS)) : from;
  const { run, at } = runs[first] as Run;
  return { since: { run, at }, runsSince: runs.length - first };
}

/** Since the run `from`; its size from the last `of` runs. */
function measured(
  runs: readonly Run[],
  { usual, sigma }: Baseline,
  { from, of }: { from: number; of: number },
): Omit<DriftSignal, 'reasons'> {
  const { run, at } = runs[from] as Run;
  const value = median(runs.slice(-of).map((each) => each.value));
  const change = value - usual;
  const lastShown = runs.findLast((each) => (each.value - usual) / change >= 0.5);
  return {
    value,
    usual,
    sigma,
    change,
    changeShare: usual === 0 ? null : change / usual,
    since: { run, at },
    runsSince: runs.length - from,
    lastShownAt: lastShown?.at ?? at,
  };
}

/** [DR5] Such as `Pump-down 24 s longer (17 %): 161 s, usually 137 s, for 12 runs.` */
export function driftSentence(measure: DriftMeasure, signal: DriftSignal): string {
  const { name, higher, lower } = measure;
  const { value, usual, change, changeShare, runsSince } = signal;
  const share = changeShare === null ? '' : ` (${Math.abs(100 * changeShare).toFixed(0)} %)`;
  const size = `${shown(measure, Math.abs(change))} ${change > 0 ? higher : lower}${share}`;
  const length = runsSince === 1 ? 'in one run' : `for ${runsSince} runs`;
  return `${name[0]?.toUpperCase()}${name.slice(1)} ${size}: ${shown(measure, value)}, usually ${shown(measure, usual)}, ${length}.`;
}
