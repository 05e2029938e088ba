/**
 * What was set and what was measured in each stretch of a run.
 * [SQ1] Pressure stands in every stretch; a gas line where flow was asked for, or where it showed more than 1 % of full scale; RF where it was on
 *       or asked for.
 * [SQ2] The set point of a stretch is the one that held longest in it; none where nobody tells it.
 * [SQ3] Mean, least and largest are of what was observed, and say how much that was.
 */
import type { Span } from './calendar.ts';
import { largestOf, leastOf, lengthMs, meanOf, usualOf, within } from './held-pieces.ts';
import { flowOutSpans, powerOutSpans, RF_ON_SHARE } from './out-of-band.ts';
import type { MeasuredQuantity, RecordStretch } from './run-facts.ts';
import { lineSignals, toldLines, type RunView } from './run-record-input.ts';
import type { GasLine, SignalName } from './signal.ts';

const FLOWS_SHARE = 0.01;

export type OutSpans = { readonly flow: ReadonlyMap<GasLine, readonly Span[]>; readonly power: readonly Span[] };

export const outSpansOf = (view: RunView): OutSpans => ({
  flow: new Map(toldLines(view).map((line) => [line, flowOutSpans(view, line)])),
  power: powerOutSpans(view),
});

/** [SQ1] */
export function recordStretches(view: RunView, out: OutSpans): readonly RecordStretch[] {
  return view.run.phases.map(({ phase, step, from, to }) => {
    const span = { from, to };
    return { phase, step, from, to, quantities: [...pressure(view, span), ...flows(view, span, out), ...power(view, span, out)] };
  });
}

const pressure = (view: RunView, span: Span): MeasuredQuantity[] =>
  view.has('chamber.pressure') ? [measured(view, 'chamber.pressure', span)] : [];

/** [SQ1] */
const flows = (view: RunView, span: Span, out: OutSpans): MeasuredQuantity[] =>
  toldLines(view).flatMap((line) => {
    const { flow, setPoint } = lineSignals(line);
    const set = usualOf(view.pieces(setPoint, span));
    const quantity = measured(view, flow, span, set, out.flow.get(line));
    const fullScale = view.rules.gases[line]?.fullScaleMolPerS ?? 0;
    const flowed = (largestOf(view.pieces(setPoint, span)) ?? 0) > 0 || Math.abs(quantity.mean ?? 0) > FLOWS_SHARE * fullScale;
    return flowed ? [quantity] : [];
  });

/** [SQ1] */
function power(view: RunView, span: Span, out: OutSpans): MeasuredQuantity[] {
  if (!view.has('rf.forward')) return [];
  const set = usualOf(view.pieces('rf.forwardSetPoint', span));
  const forward = measured(view, 'rf.forward', span, set, out.power);
  if ((set ?? 0) <= 0 && (forward.max ?? 0) < RF_ON_SHARE * view.rules.rfMaxW) return [];
  return view.has('rf.reflected') ? [forward, measured(view, 'rf.reflected', span)] : [forward];
}

/** [SQ2] [SQ3] */
function measured(view: RunView, signal: SignalName, span: Span, setPoint: number | null = null, out?: readonly Span[]): MeasuredQuantity {
  const pieces = view.pieces(signal, span);
  return {
    signal,
    setPoint: shortened(setPoint, 7),
    mean: shortened(meanOf(pieces)),
    min: shortened(leastOf(pieces), 7),
    max: shortened(largestOf(pieces), 7),
    outOfBandMs: setPoint !== null && setPoint > 0 && out !== undefined ? lengthMs(within(out, span)) : null,
    knownMs: lengthMs(pieces),
  };
}

/** Nine digits are more than any instrument gives; seven are what a single sample is kept with. */
export const shortened = <N extends number | null>(value: N, digits = 9): N =>
  value === null ? value : (Number(value.toPrecision(digits)) as N);
