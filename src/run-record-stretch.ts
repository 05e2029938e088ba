/**
 * What was set and what was measured in each stretch of a run.
 * [SQ1] Pressure stands in every stretch; a gas line where flow was asked for (where nobody tells that, where it showed more than 1 % of full scale);
 *       RF where it was on or asked for.
 * [SQ2] The set point of a stretch is the one above zero that held longest in it; none where nobody tells it.
 * [SQ3] Mean, least and largest are of what had settled and was observed: 5 s after a change of set point (out-of-band.ts); what has no set point, in
 *       plasma from 15 s after it began or lit. How much of the whole stretch was observed is said beside it.
 */
import type { Span } from './calendar.ts';
import type { PhaseSpan } from './event.ts';
import { largestOf, leastOf, lengthMs, meanOf, usualOf, within } from './held-pieces.ts';
import { judgedFlow, judgedPower, RF_ON_SHARE, type Judged } from './out-of-band.ts';
import type { MeasuredQuantity, RecordStretch } from './run-facts.ts';
import { lineSignals, toldLines, type RunView } from './run-record-input.ts';
import { MATCHED_MS, matchedSpans } from './run-rf.ts';
import type { GasLine, SignalName } from './signal.ts';

const FLOWS_SHARE = 0.01;

/** When each quantity was settled, and outside its band. */
export type Bands = { readonly flow: ReadonlyMap<GasLine, Judged>; readonly power: Judged; readonly matched: readonly Span[] };

export const bandsOf = (view: RunView, lit: readonly Span[]): Bands => ({
  flow: new Map(toldLines(view).map((line) => [line, judgedFlow(view, line)])),
  power: judgedPower(view),
  matched: matchedSpans(lit),
});

/** [SQ1] */
export function recordStretches(view: RunView, bands: Bands): readonly RecordStretch[] {
  return view.run.phases.map((stretch) => {
    const { phase, step, from, to } = stretch;
    return {
      phase,
      step,
      from,
      to,
      quantities: [...pressure(view, stretch), ...flows(view, stretch, bands), ...power(view, stretch, bands)],
    };
  });
}

/** [SQ3] */
function pressure(view: RunView, { phase, from, to }: PhaseSpan): MeasuredQuantity[] {
  if (!view.has('chamber.pressure')) return [];
  const settled = [{ from: from + (phase === 'plasma' ? MATCHED_MS : 0), to }];
  return [measured(view, 'chamber.pressure', { span: { from, to }, settled })];
}

/** [SQ1] */
const flows = (view: RunView, span: Span, bands: Bands): MeasuredQuantity[] =>
  toldLines(view).flatMap((line) => {
    const { flow, setPoint } = lineSignals(line);
    const set = askedFor(view, setPoint, span);
    const fullScale = view.rules.gases[line]?.fullScaleMolPerS ?? 0;
    const shows = !view.has(setPoint) && (largestOf(view.pieces(flow, span)) ?? 0) > FLOWS_SHARE * fullScale;
    return set !== null || shows ? [measured(view, flow, { span, set, ...bands.flow.get(line) })] : [];
  });

/** [SQ2] */
const askedFor = (view: RunView, setPoint: SignalName, span: Span): number | null =>
  usualOf(view.pieces(setPoint, span).filter(({ value }) => value > 0));

/** [SQ1] */
function power(view: RunView, span: Span, { power: judged, matched }: Bands): MeasuredQuantity[] {
  if (!view.has('rf.forward')) return [];
  const set = askedFor(view, 'rf.forwardSetPoint', span);
  const most = largestOf(view.pieces('rf.forward', span)) ?? 0;
  if (set === null && most < RF_ON_SHARE * view.rules.rfMaxW) return [];
  const forward = measured(view, 'rf.forward', { span, set, ...judged });
  return view.has('rf.reflected') ? [forward, measured(view, 'rf.reflected', { span, settled: matched })] : [forward];
}

type Measuring = { readonly span: Span; readonly set?: number | null; readonly settled?: readonly Span[]; readonly out?: readonly Span[] };

/** [SQ2] [SQ3] Where nobody tells a set point, all of it counts as settled. */
function measured(view: RunView, signal: SignalName, { span, set = null, settled, out }: Measuring): MeasuredQuantity {
  const pieces = view.pieces(signal, span);
  const calm =
    settled === undefined || (set === null && out !== undefined)
      ? pieces
      : within(settled, span).flatMap((part) => view.pieces(signal, part));
  return {
    signal,
    setPoint: shortened(set, 7),
    mean: shortened(meanOf(calm)),
    min: shortened(leastOf(calm), 7),
    max: shortened(largestOf(calm), 7),
    outOfBandMs: set !== null && out !== undefined ? lengthMs(within(out, span)) : null,
    knownMs: lengthMs(pieces),
  };
}

/** Nine digits are more than any instrument gives; seven are what a single sample is kept with. */
export const shortened = <N extends number | null>(value: N, digits = 9): N =>
  value === null ? value : (Number(value.toPrecision(digits)) as N);
