/**
 * What was set and measured in one stretch of a run, explained.
 * [XR4] A stretch is named by when it began; stretches of one phase and step that follow one another are one, as on the page.
 */
import type { RunEnded } from './event.ts';
import { type AmountUnit, type Draft, type Evidence, PLAIN } from './explanation.ts';
import { FLOW_FULL_SCALE_SHARE, FLOW_SHARE, POWER_SHARE } from './out-of-band.ts';
import type { MeasuredQuantity, RecordStretch, RunRecord } from './run-facts.ts';

const SETTLING = '5 s after a change of set point; without one, in plasma 15 s after it began or lit';

const WHAT: Readonly<Record<string, readonly [words: string, of: keyof MeasuredQuantity, formula: string]>> = {
  set: ['set point', 'setPoint', 'the set point above zero that held longest in the stretch'],
  mean: ['mean', 'mean', 'time-weighted mean of what had settled and was observed'],
  min: ['least', 'min', 'least value of what had settled and was observed'],
  max: ['most', 'max', 'largest value of what had settled and was observed'],
  out: ['time out of band', 'outOfBandMs', outFormula()],
};

function outFormula(): string {
  const [own, full, power] = [FLOW_SHARE, FLOW_FULL_SCALE_SHARE, POWER_SHARE].map((share) => `${100 * share} %`);
  return `time further from the set point than the larger of ${own} of it and ${full} of full scale (flow), or ${power} of it (power), once settled`;
}

const unitOfSignal = (signal: string): AmountUnit => (signal === 'chamber.pressure' ? 'Pa' : signal.startsWith('rf.') ? 'W' : 'mol/s');

type Named = { readonly from: number; /** 'time', or '<signal>/<set, mean, min, max or out>'. */ readonly what: string };

/** [XR4] Null for a stretch that is not there. */
export function explainStretch({ from, what }: Named, run: RunEnded, record: RunRecord | null): Draft | null {
  if (what === 'time') return stretchTime(from, run);
  const stretch = record?.stretches.find((one) => one.from === from);
  const [signal = '', name = ''] = what.split('/');
  const quantity = stretch?.quantities.find((one) => one.signal === signal);
  const found = Object.hasOwn(WHAT, name) ? WHAT[name] : undefined;
  if (!stretch || !quantity || !found) return null;
  const [words, of, formula] = found;
  const isOut = of === 'outOfBandMs';
  return {
    ...PLAIN,
    words: `${words} of ${signal} in ${nameOf(stretch)}`,
    unit: isOut ? 'ms' : unitOfSignal(signal),
    value: quantity[of] as number | null,
    formula,
    base: `${nameOf(stretch)}, as far as it was observed`,
    source: isOut ? 'bands and times: trade practice, no source' : 'values held until the next one; common practice, no source',
    numerator: null,
    excluded: leftOut(stretch, quantity, of !== 'setPoint'),
    madeOf: stretchesOf(run, [stretch]),
  };
}

function leftOut(stretch: RecordStretch, { knownMs }: MeasuredQuantity, settles: boolean): Draft['excluded'] {
  const unseen = stretch.to - stretch.from - knownMs;
  return [
    ...(settles ? [{ label: 'settling', ms: null, why: SETTLING }] : []),
    ...(unseen > 0 ? [{ label: 'unobserved', ms: unseen, why: 'nobody had word of this signal meanwhile' }] : []),
  ];
}

/** [XR4] */
function stretchTime(from: number, { phases, ...run }: RunEnded): Draft | null {
  const first = phases.findIndex((span) => span.from === from);
  if (first < 0) return null;
  const [{ phase, step }] = [phases[first] as RunEnded['phases'][number]];
  const end = phases.findIndex((span, i) => i > first && (span.phase !== phase || span.step !== step || span.from !== phases[i - 1]?.to));
  const own = phases.slice(first, end < 0 ? undefined : end);
  const amount = own.reduce((sum, span) => sum + span.to - span.from, 0);
  const words = `time of ${nameOf({ phase, step })}`;
  return {
    ...PLAIN,
    words,
    unit: 'ms',
    value: amount,
    formula: 'from when the phase was entered until it was left',
    source: 'phases by the rules of phase.ts',
    numerator: {
      words,
      unit: 'ms',
      amount,
      parts: own.map((span) => ({ label: phase, state: null, amount: span.to - span.from, count: 1 })),
    },
    madeOf: stretchesOf(run, own),
  };
}

const nameOf = ({ phase, step }: Pick<RecordStretch, 'phase' | 'step'>): string => (step === null ? phase : `${phase} step ${step}`);

const SOURCES: Readonly<Record<string, string>> = {
  tag: 'told by the controller',
  signal: 'seen in the signals',
  inferred: 'inferred from the signals',
  gap: 'begin not seen',
};

/** Stretches of a run as rows; each leads to the chamber's trace at that time. */
export const stretchesOf = (
  run: Pick<RunEnded, 'chamber' | 'run'>,
  spans: readonly (Pick<RecordStretch, 'phase' | 'step' | 'from' | 'to'> & { readonly source?: string })[],
): Evidence[] =>
  spans.map(({ phase, step, from, to, source }) => ({
    ...{ chamber: run.chamber, from, to, state: null, text: nameOf({ phase, step }) },
    ...{ counts: SOURCES[source ?? ''] ?? 'measured over', run: run.run, amount: to - from },
  }));
