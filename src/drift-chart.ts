/**
 * What a control chart of one figure shows: the runs with their part in it, the limits they are held to, the moving average, and every run at
 * which a rule spoke.
 * [DK1] A run is of the baseline, left out of it, judged, or neither: from before the last maintenance, or not yet judged while it is learned.
 * [DK2] Limits and average are those of the verdict, in the figure's own unit; a run without the figure is a gap.
 */
import type { Baseline, DriftInput, DriftReason, DriftVerdict } from './drift.ts';
import { charted, drift, leftOut, levelReach, reasonsAt, singleReach, teaching, wideSpread } from './drift.ts';
import { charted as fromChart } from './drift-measure.ts';
import type { DriftMeasure } from './drift-measure.ts';

export const CHART_ROLES = ['before', 'baseline', 'left-out', 'judged', 'learning'] as const;
export type ChartRole = (typeof CHART_ROLES)[number];
export type ChartPoint = {
  readonly run: string;
  readonly at: number;
  readonly value: number | null;
  readonly role: ChartRole;
  /** The moving average after this run; null outside the judged ones. */
  readonly level: number | null;
  readonly reasons: readonly DriftReason[];
};
type ChartLimits = Baseline & {
  readonly lower: number;
  readonly upper: number;
  /** Within which the moving average may stay in the long run. */
  readonly levelLower: number;
  readonly levelUpper: number;
};
export type ControlChart = { readonly verdict: DriftVerdict; readonly limits: ChartLimits | null; readonly points: readonly ChartPoint[] };

/** [DK1] [DK2] */
export function controlChart(input: DriftInput): ControlChart {
  const { measure } = input;
  const { taught, base, judged } = teaching(input);
  const mark = input.maintenance.reduce((a, b) => Math.max(a, b), -Infinity);
  const [left, member] = [leftOut(taught, measure), new Set<unknown>(taught)];
  const place = new Map<unknown, number>(judged.map((run, i) => [run, i]));
  const chart = base === null ? null : charted(judged, base, measure);
  const points = input.runs.map((run): ChartPoint => {
    const i = place.get(run);
    const role = roleOf(run.at <= mark, member.has(run), (left as ReadonlySet<unknown>).has(run), i !== undefined);
    const shown = { run: run.run, at: run.at, value: run.value, role };
    if (base === null || chart === null || i === undefined) return { ...shown, level: null, reasons: [] };
    return {
      ...shown,
      level: fromChart(measure, base.centre + (chart.level[i] as number) * wideSpread(base)),
      reasons: reasonsAt(chart, base, i),
    };
  });
  return { verdict: drift(input), limits: base && limits(base, measure), points };
}

function roleOf(isBefore: boolean, teaches: boolean, isLeftOut: boolean, isJudged: boolean): ChartRole {
  if (isBefore) return 'before';
  if (isJudged) return 'judged';
  if (!teaches) return 'learning';
  return isLeftOut ? 'left-out' : 'baseline';
}

/** [DK2] */
function limits(base: Baseline, measure: DriftMeasure): ChartLimits {
  const wide = wideSpread(base);
  const at = (reach: number): number => fromChart(measure, base.centre + reach * wide);
  const [single, level] = [singleReach(base), levelReach(base)];
  return { ...base, lower: at(-single), upper: at(single), levelLower: at(-level), levelUpper: at(level) };
}
