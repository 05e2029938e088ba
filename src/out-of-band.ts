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
import type { GasLine } from './signal.ts';

export const SETTLING_MS = 5_000;
export const LONGEST_OUT_MS = 10_000;
export const FLOW_SHARE = 0.05;
export const FLOW_FULL_SCALE_SHARE = 0.01;
export const POWER_SHARE = 0.03;
/** RF is on above this share of the generator's maximum (phase.ts takes the same). */
export const RF_ON_SHARE = 0.02;

/** [OB1] Half width. */
export const flowBand = (setPoint: number, fullScale: number): number => Math.max(FLOW_SHARE * setPoint, FLOW_FULL_SCALE_SHARE * fullScale);

/** [OB1] [OB2] */
export function flowOutSpans(view: RunView, line: GasLine): readonly Span[] {
  const { flow, setPoint } = lineSignals(line);
  const fullScale = view.rules.gases[line]?.fullScaleMolPerS ?? 0;
  const asked = openSpans(view, line).flatMap((span) => view.pieces(setPoint, span));
  return outSpans(
    asked,
    (span) => view.pieces(flow, span),
    (set) => flowBand(set, fullScale),
  );
}

/** [OB1] [OB2] */
export function powerOutSpans(view: RunView): readonly Span[] {
  const asked = rfOnSpans(view).flatMap((span) => view.pieces('rf.forwardSetPoint', span));
  return outSpans(
    asked,
    (span) => view.pieces('rf.forward', span),
    (set) => POWER_SHARE * set,
  );
}

export const rfOnSpans = (view: RunView): readonly Span[] =>
  spansWhere(view.pieces('rf.forward', view.whole), ({ value }) => value >= RF_ON_SHARE * view.rules.rfMaxW);

/** [OB3] */
export const isWorthTelling = ({ from, to }: Span): boolean => to - from > LONGEST_OUT_MS;

/** [OB2] Each piece of `asked` is one set point; a set point of nothing is not judged. */
function outSpans(asked: readonly Piece[], actual: (span: Span) => readonly Piece[], band: (setPoint: number) => number): readonly Span[] {
  const pairs = asked.flatMap((piece) => {
    const settled = { ...piece, from: piece.from + SETTLING_MS };
    return piece.value > 0 && settled.to > settled.from ? paired([settled], actual(settled)) : [];
  });
  return spansWhere(pairs, ({ a: set, b: value }) => Math.abs(value - set) > band(set));
}
