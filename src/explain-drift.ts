/**
 * Figures of a control chart explained: what is usual with its limits, and a shift.
 * [XD1] What is usual lists the runs of the baseline and those left out of it; a change lists the runs since it began. Each leads to its run.
 */
import type { SeriesVerdict } from './chamber-drift.ts';
import { LAMBDA } from './drift.ts';
import type { ControlChart, ChartPoint } from './drift-chart.ts';
import type { SymptomName } from './drift-cause.ts';
import { amountText, type SiteUnits } from './explain-words.ts';
import { type AmountUnit, type Draft, type Evidence, PLAIN } from './explanation.ts';

const SOURCE = 'individuals chart: NIST e-Handbook 6.3.2.2 (constants), EWMA 6.3.2.4; the choice of runs: own rule';
const LEFT_OUT = 'beyond a modified z-score of 3.5 (Iglewicz and Hoaglin, NIST e-Handbook 1.3.5.17)';

const UNITS: Partial<Readonly<Record<SymptomName, AmountUnit>>> = {
  'base-pressure': 'Pa',
  'plasma-pressure': 'Pa',
  'rate-of-rise': 'Pa/s',
  'flow-zero': 'share',
  'flow-deviation': 'share',
  'reflected-fraction': 'share',
  'delivered-energy': 'J',
};
const unitOf = (name: SymptomName): AmountUnit => UNITS[name] ?? 's';

type Charted = {
  readonly chamber: string;
  readonly series: Pick<SeriesVerdict, 'name' | 'recipe' | 'line'>;
  /** As the pages call it: 'pump-down, tail'. */
  readonly label: string;
  readonly chart: ControlChart;
  readonly units: SiteUnits;
};

export const DRIFT_NUMBERS = ['drift-usual', 'drift-change'] as const;
export type DriftNumber = (typeof DRIFT_NUMBERS)[number];

/** [XD1] */
export const explainDrift = (number: DriftNumber, charted: Charted): Draft =>
  number === 'drift-usual' ? explainUsual(charted) : explainChange(charted);

const named = ({ label, series: { recipe } }: Charted): string => `${label}${recipe === null ? '' : ` with ${recipe}`}`;

const rows = ({ chamber }: Charted, points: readonly ChartPoint[], counts: (point: ChartPoint) => string): Evidence[] =>
  points.map((point) => ({
    ...{ chamber, from: point.at, to: point.at, state: null, text: point.reasons.join(', ') || 'run' },
    ...{ counts: counts(point), run: point.run, amount: point.value },
  }));

function explainUsual(charted: Charted): Draft {
  const { chart, series } = charted;
  const taught = chart.points.filter(({ role }) => role === 'baseline' || role === 'left-out');
  const left = taught.filter(({ role }) => role === 'left-out').length;
  const learning = chart.verdict.state === 'learning' ? `; learning: ${chart.verdict.runs} of ${chart.verdict.needed} good runs seen` : '';
  return {
    ...PLAIN,
    words: `usual ${named(charted)}`,
    unit: unitOf(series.name),
    value: chart.limits?.usual ?? null,
    low: chart.limits?.lower ?? null,
    high: chart.limits?.upper ?? null,
    bounds: 'single runs within 3 sigma, widened for what a short baseline does not know',
    formula: `mean of the first good runs since the last work on it, then frozen${learning}`,
    base: `${chart.limits?.n ?? 0} runs of the baseline`,
    source: SOURCE,
    numerator: null,
    excluded: left > 0 ? [{ label: left === 1 ? '1 run' : `${left} runs`, ms: null, why: LEFT_OUT }] : [],
    madeOf: rows(charted, taught, ({ role }) => (role === 'baseline' ? 'baseline' : 'left out')),
    madeOfUnit: unitOf(series.name),
  };
}

function explainChange(charted: Charted): Draft {
  const { chart, series, units } = charted;
  const { verdict } = chart;
  const signal = verdict.state === 'shifted' || verdict.state === 'odd-run' ? verdict : null;
  const judged = chart.points.filter(({ role, at }) => role === 'judged' && (signal === null || at >= signal.since.at));
  const unit = unitOf(series.name);
  const text = (amount: number): string => amountText(amount, unit, units);
  return {
    ...PLAIN,
    words: `change of ${named(charted)}`,
    unit,
    value: signal?.change ?? null,
    formula: 'median of the last nine runs since it began (or of as few as four that are sure of it), less the usual',
    worked: signal ? `${text(signal.value)} - ${text(signal.usual)}  =  ${text(signal.change)}` : `nothing has shifted: ${verdict.state}`,
    base: signal === null ? null : `${signal.runsSince} runs since it began: ${signal.reasons.join(', ')}`,
    source: `${SOURCE}; lambda ${LAMBDA}, nine on the same side`,
    numerator: null,
    madeOf: rows(charted, judged, () => 'judged'),
    madeOfUnit: unit,
  };
}
