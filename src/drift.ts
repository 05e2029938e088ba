/**
 * Has a chamber changed? One figure per run of one chamber and recipe, judged against the same chamber's own beginning.
 * [DR1] The baseline is the first good runs after the last maintenance, 20 unless told otherwise and never under 10, then frozen: a slow drift must
 *       not teach its own baseline. Until it is full the verdict is "learning".
 * [DR2] A run in the baseline beyond a modified z-score of 3.5 is left out of it, and no moving range bridges it; so neither does one wet load
 *       widen the limits.
 * [DR3] Judged after the baseline: beyond 3 sigma, nine on the same side, and an EWMA (λ 0.2) beyond 3 of its own sigma. Limits are widened for what
 *       a short baseline does not know: its mean is off by sigma/√n, and its sigma by about 1 part in √(2n).
 * [DR4] One run cannot carry the average: beyond 3 sigma it counts as 3.
 * [DR5] Shifted: the average or nine on the same side say so at the last run. Odd run: only the last run is beyond 3 sigma. What is shifted began
 *       with the run after the average last stood on the other side; its size is the median of at most the last five runs since.
 * [DR6] A change too small to be worth telling is steady.
 * [DR7] A run without the figure is passed over; runs before the last maintenance do not count.
 */
import { ewmaReach, individuals, MODIFIED_Z_LIMIT, modifiedZ, stretches } from './control-chart.ts';
import type { DriftMeasure } from './drift-measure.ts';
import { isWorthTelling, leastSigma, shown } from './drift-measure.ts';
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
};

export type DriftReason = 'beyond 3 sigma' | 'nine on the same side' | 'moving average';
export type DriftSignal = {
  readonly value: number;
  readonly usual: number;
  readonly sigma: number;
  /** Value minus usual, in SI, and as a share of the usual; null where the usual is 0. */
  readonly change: number;
  readonly changeShare: number | null;
  readonly since: { readonly run: string; readonly at: number };
  readonly runsSince: number;
  readonly reasons: readonly DriftReason[];
};
export type DriftVerdict =
  | { readonly state: 'learning'; readonly runs: number; readonly needed: number }
  | { readonly state: 'steady'; readonly usual: number; readonly sigma: number; readonly runs: number }
  | ({ readonly state: 'odd-run' | 'shifted' } & DriftSignal);

export const BASELINE_RUNS = 20;
export const FEWEST_BASELINE_RUNS = 10;
export const LAMBDA = 0.2;
const WIDTH = 3;
const SIZE_RUNS = 5;

export type ChartedRun = MeasuredRun & { readonly value: number };
type Run = ChartedRun;
export type Baseline = { readonly usual: number; readonly sigma: number; readonly n: number };

/** What the runs since the last maintenance teach, and which of them are judged by it. */
export type Teaching = {
  readonly needed: number;
  /** Good runs of the baseline, those left out of it included. */
  readonly taught: readonly ChartedRun[];
  readonly base: Baseline | null;
  readonly judged: readonly ChartedRun[];
};

/** [DR1]-[DR7] */
export function drift(input: DriftInput): DriftVerdict {
  const { needed, taught, base, judged } = teaching(input);
  return base === null ? { state: 'learning', runs: taught.length, needed } : verdict(judged, base, input.measure);
}

/** [DR1] [DR7] */
export function teaching({ measure, runs, maintenance, baselineRuns = BASELINE_RUNS }: DriftInput): Teaching {
  const needed = Math.max(FEWEST_BASELINE_RUNS, baselineRuns);
  const mark = maintenance.reduce((a, b) => Math.max(a, b), -Infinity);
  const since = runs.filter(({ at }) => at > mark).filter(hasValue);
  const taught = since.filter(({ good }) => good).slice(0, needed);
  const base = taught.length < needed ? null : baseline(taught, measure);
  return { needed, taught, base, judged: base === null ? [] : since.slice(since.indexOf(taught.at(-1) as Run) + 1) };
}

const hasValue = (run: MeasuredRun): run is Run => run.value !== null;

/** [DR2] [DM2] */
function baseline(runs: readonly Run[], measure: DriftMeasure): Baseline | null {
  const left = leftOut(runs);
  const kept = runs.map((run) => ({ at: run.at, value: left.has(run) ? null : run.value }));
  const chart = individuals(stretches(kept, []));
  return chart && { usual: chart.mean, sigma: Math.max(chart.sigma, leastSigma(measure)), n: chart.n };
}

/** [DR2] The runs of a baseline that stand too far off to be of it. */
export function leftOut(runs: readonly Run[]): ReadonlySet<Run> {
  const scores = modifiedZ(runs.map(({ value }) => value));
  return new Set(runs.filter((_, i) => Math.abs(scores[i] ?? 0) > MODIFIED_Z_LIMIT));
}

function verdict(runs: readonly Run[], base: Baseline, measure: DriftMeasure): DriftVerdict {
  const steady = { state: 'steady', usual: base.usual, sigma: base.sigma, runs: runs.length } as const;
  const chart = charted(runs, base);
  const reasons = reasonsAt(chart, base, runs.length - 1);
  if (reasons.length === 0) return steady;
  const shifted = reasons.some((reason) => reason !== 'beyond 3 sigma');
  const signal = measured(runs, base, shifted ? onset(chart.level, reasons) : runs.length - 1);
  if (!isWorthTelling(measure, signal.value, base.usual)) return steady;
  return { state: shifted ? 'shifted' : 'odd-run', ...signal, reasons };
}

export type Chart = { readonly z: readonly number[]; readonly level: readonly number[] };

/** [DR3] Of single values, widened for what so short a baseline does not know of its spread. */
export const wideSigma = ({ sigma, n }: Baseline): number => sigma * (1 + 1 / Math.sqrt(2 * n));
/** [DR3] How far a single value may stand off in widened sigma, of which the share is that the mean is not known either. */
export const singleReach = ({ n }: Baseline): number => WIDTH * Math.sqrt(1 + 1 / n);
/** [DR3] The same for the moving average after the `i`-th judged run, or in the long run. */
export const levelReach = ({ n }: Baseline, i = Infinity): number =>
  Math.hypot(ewmaReach({ sigma: 1, lambda: LAMBDA, width: WIDTH, i }), (WIDTH * (1 - (1 - LAMBDA) ** i)) / Math.sqrt(n));

/** [DR3] [DR4] In units of the widened sigma of single values; `level` is the moving average of the clipped ones. */
export function charted(runs: readonly Run[], base: Baseline): Chart {
  const [usual, wide] = [base.usual, wideSigma(base)];
  const z = runs.map(({ value }) => (value - usual) / wide);
  let before = 0;
  const level = z.map((value) => (before = LAMBDA * Math.max(-WIDTH, Math.min(WIDTH, value)) + (1 - LAMBDA) * before));
  return { z, level };
}

/** [DR3] [DR5] What speaks at the run of that index. */
export function reasonsAt({ z, level }: Chart, base: Baseline, index: number): readonly DriftReason[] {
  if (index < 0) return [];
  const last = z.slice(Math.max(0, index - 8), index + 1);
  const hits = ruleHits(last.map((value) => (WIDTH * value) / singleReach(base))).filter((hit) => hit.index === last.length - 1);
  const reasons: DriftReason[] = hits.map(({ rule }) => (rule === 'beyond-3-sigma' ? 'beyond 3 sigma' : 'nine on the same side'));
  return Math.abs(level[index] as number) > levelReach(base, index + 1) ? [...reasons, 'moving average'] : reasons;
}

/** [DR5] The index after the last on which the average stood on the other side than now; of nine on one side the first at the latest. */
function onset(level: readonly number[], reasons: readonly DriftReason[]): number {
  const side = Math.sign(level.at(-1) as number);
  const crossed = level.findLastIndex((value) => Math.sign(value) !== side) + 1;
  return reasons.includes('nine on the same side') ? Math.min(crossed, level.length - 9) : crossed;
}

function measured(runs: readonly Run[], { usual, sigma }: Baseline, from: number): Omit<DriftSignal, 'reasons'> {
  const { run, at } = runs[from] as Run;
  const value = median(runs.slice(Math.max(from, runs.length - SIZE_RUNS)).map((each) => each.value));
  const change = value - usual;
  return {
    value,
    usual,
    sigma,
    change,
    changeShare: usual === 0 ? null : change / usual,
    since: { run, at },
    runsSince: runs.length - from,
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
