/**
 * Actual values against their set points: when were they outside the band, once they had time to settle.
 * [OB1] The band of a flow is the larger of 5 % of its set point and 1 % of full scale; of forward power 3 % of its set point.
 * [OB2] It is judged from 5 s after the set point changed, the valve opened or RF came on, and only where both values are known.
 * [OB3] A stay outside the band is worth telling when it lasts longer than 10 s on end.
 * (Bands and times: trade practice, no source. A healthy flow controller of 1 % of full scale may already read 10 % off at a tenth of its range.)
 */
import type { Span } from './calendar.ts';
import { paired, spansWhere, type Piece } from './held-pieces.ts';
import { lineSignals, openSpans, type RunView } from './run-record-input.ts';
import type { GasLine, SignalName } from './signal.ts';

export const SETTLING_MS = 5_000;
export const LONGEST_OUT_MS = 10_000;
export const FLOW_SHARE = 0.05;
export const FLOW_FULL_SCALE_SHARE = 0.01;
export const POWER_SHARE = 0.03;
/** RF is on above this share of the generator's maximum (phase.ts takes the same). */
export const RF_ON_SHARE = 0.02;

/** [OB1] Half width. */
export const flowBand = (setPoint: number, fullScale: number): number => Math.max(FLOW_SHARE * setPoint, FLOW_FULL_SCALE_SHARE * fullScale);

/** When a quantity was settled, and when it was outside its band then. */
export type Judged = { readonly settled: readonly Span[]; readonly out: readonly Span[] };

/** [OB1] [OB2] */
export function judgedFlow(view: RunView, line: GasLine): Judged {
  const { flow, setPoint } = lineSignals(line);
  const fullScale = view.rules.gases[line]?.fullScaleMolPerS ?? 0;
  const asked = openSpans(view, line).flatMap((span) => view.pieces(setPoint, span));
  return judged(view, { asked, signal: flow, band: (set) => flowBand(set, fullScale) });
}

/** [OB1] [OB2] */
export function judgedPower(view: RunView): Judged {
  const asked = rfOnSpans(view).flatMap((span) => view.pieces('rf.forwardSetPoint', span));
  return judged(view, { asked, signal: 'rf.forward', band: (set) => POWER_SHARE * set });
}

export const rfOnSpans = (view: RunView): readonly Span[] =>
  spansWhere(view.pieces('rf.forward', view.whole), ({ value }) => value >= RF_ON_SHARE * view.rules.rfMaxW);

/** [OB3] */
export const isWorthTelling = ({ from, to }: Span): boolean => to - from > LONGEST_OUT_MS;

type Judging = { readonly asked: readonly Piece[]; readonly signal: SignalName; readonly band: (setPoint: number) => number };

/** [OB2] Each piece of `asked` is one set point; a set point of nothing is not judged. */
function judged(view: RunView, { asked, signal, band }: Judging): Judged {
  const settled = asked
    .map((piece) => ({ ...piece, from: piece.from + SETTLING_MS }))
    .filter(({ from, to, value }) => value > 0 && to > from);
  const pairs = settled.flatMap((piece) => paired([piece], view.pieces(signal, piece)));
  return { settled, out: spansWhere(pairs, ({ a: set, b: value }) => Math.abs(value - set) > band(set)) };
}
