/**
 * Gas of one run: how much flowed, whether it was stable before RF came, and how true the flow controllers showed.
 * [GS1] The total of a line is the integral of its flow while its valve was open; a hole longer than 10 s there refuses it.
 * [GS2] Stable before RF: every flow asked for was inside its band when RF came. Unknown flow is not known to be stable.
 * [GS3] The zero of a flow controller is the median of what it showed from 60 s after its valve was shut.
 * [GS4] Its error in plasma is the mean of flow less set point, settled; both as shares of full scale. Neither proves what really flowed.
 * [GS5] Purged is the time pumped after the last fluorinated gas, which is gone when its valve is shut or it shows under 2 % of full scale. Not known
 *       when its flow, or what followed it, was not seen.
 * (Times: trade practice, no source.)
 */
import type { Span } from './calendar.ts';
import type { Phase } from './equipment.ts';
import { heldPieces, lengthMs, medianOf, paired, samplesIn, spansWhere, within } from './held-pieces.ts';
import { integral } from './integral.ts';
import { flowBand, SETTLING_MS } from './out-of-band.ts';
import type { RunRecord } from './run-facts.ts';
import { lineSignals, openSpans, toldLines, type RunView } from './run-record-input.ts';
import type { GasLine } from './signal.ts';

const AT_REST_MS = 60_000;
const LEAST_KNOWN_MS = 5_000;
type Total = RunRecord['gases'][number];
type Share = RunRecord['flowZero'][number];

/** [GS1] Of the lines that were open at all. */
export function gasTotals(view: RunView): readonly Total[] {
  return toldLines(view).flatMap((line): Total[] => {
    const open = openSpans(view, line);
    const samples = view.samples(lineSignals(line).flow);
    const parts = open.map((span) => integral(samplesIn(samples, span), span, 'on-change'));
    const knownMol = parts.reduce((sum, { known }) => sum + known, 0);
    const isWhole = parts.every(({ value }) => value !== null) && isValveKnown(view, line);
    return open.length === 0 ? [] : [{ line, kind: kindOf(view, line), mol: isWhole ? knownMol : null, knownMol }];
  });
}

export const kindOf = (view: RunView, line: GasLine): string => view.rules.gases[line]?.kind ?? `gas ${line}`;

/** [GS1] A valve that nobody heard of may have been open. */
function isValveKnown(view: RunView, line: GasLine): boolean {
  const { valve, setPoint } = lineSignals(line);
  const signal = view.has(valve) ? valve : view.has(setPoint) ? setPoint : null;
  return signal === null || lengthMs(view.pieces(signal, view.whole)) === view.whole.to - view.whole.from;
}

type Stabilisation = { readonly ms: number | null; readonly stable: boolean | null };

/** [GS2] Of the first plasma of the run. */
export function stabilisation(view: RunView): Stabilisation {
  const first = view.plasma[0];
  if (first === undefined || first.source === 'gap') return { ms: null, stable: null };
  const before = view.run.phases.filter(({ phase, to }) => phase === 'gas-stabilisation' && to <= first.from);
  const seen = before.length > 0 && before.every(({ source }) => source !== 'gap');
  return { ms: seen ? lengthMs(before) : null, stable: isStable(view, first.from) };
}

/** [GS2] */
function isStable(view: RunView, at: number): boolean | null {
  const moment = { from: at - 1, to: at };
  const asked = toldLines(view).flatMap((line) => {
    const { flow, setPoint } = lineSignals(line);
    const set = view.pieces(setPoint, moment)[0]?.value ?? null;
    const fullScale = view.rules.gases[line]?.fullScaleMolPerS ?? 0;
    return set === null || set <= 0 ? [] : [{ set, fullScale, value: view.pieces(flow, moment)[0]?.value ?? null }];
  });
  if (asked.length === 0 || asked.some(({ value }) => value === null)) return null;
  return asked.every(({ set, fullScale, value }) => Math.abs((value as number) - set) <= flowBand(set, fullScale));
}

/** [GS3] */
export const flowZeros = (view: RunView): readonly Share[] =>
  toldLines(view).flatMap((line) => {
    const resting = shutSpans(view, line)
      .map((span) => ({ from: span.from + AT_REST_MS, to: span.to }))
      .flatMap((span) => within([span], view.whole));
    const shown = resting.flatMap((span) => view.pieces(lineSignals(line).flow, span));
    return lengthMs(shown) < LEAST_KNOWN_MS ? [] : shareOf(view, line, medianOf(shown));
  });

/** Also before the run began, as far as it is known. */
function shutSpans(view: RunView, line: GasLine): readonly Span[] {
  const { valve, setPoint } = lineSignals(line);
  const samples = view.samples(view.has(valve) ? valve : setPoint);
  const known = { from: samples[0]?.at ?? view.whole.from, to: view.whole.to };
  return spansWhere(heldPieces(samples, known), ({ value }) => value <= 0);
}

/** [GS4] */
export const flowErrors = (view: RunView): readonly Share[] =>
  toldLines(view).flatMap((line) => {
    const { flow, setPoint } = lineSignals(line);
    const burning = openSpans(view, line).flatMap((span) => view.plasma.flatMap((stretch) => within([span], stretch)));
    const asked = burning.flatMap((span) => view.pieces(setPoint, span)).filter(({ value }) => value > 0);
    const settled = asked.map((piece) => ({ ...piece, from: piece.from + SETTLING_MS })).filter(({ from, to }) => to > from);
    const pairs = settled.flatMap((piece) => paired([piece], view.pieces(flow, piece)));
    const off = pairs.reduce((sum, { a, b, from, to }) => sum + (b - a) * (to - from), 0);
    return pairs.length === 0 ? [] : shareOf(view, line, off / lengthMs(pairs));
  });

const GONE_SHARE = 0.02;
const PUMPED: readonly Phase[] = ['pump-down', 'gas-stabilisation', 'plasma', 'purge', 'parked'];

/** [GS5] */
export function purgedMs(view: RunView): number | null {
  const { run, rules } = view;
  const lines = toldLines(view).filter((line) => rules.gases[line]?.fluorinated === true);
  const flowing = lines.flatMap((line) => {
    const least = GONE_SHARE * (rules.gases[line]?.fullScaleMolPerS ?? 0);
    const shown = openSpans(view, line).flatMap((span) => view.pieces(lineSignals(line).flow, span));
    return spansWhere(shown, ({ value }) => value > least);
  });
  if (flowing.length === 0 || run.observedMs < run.at - run.startedAt) return null;
  const goneAt = flowing.reduce((last, { to }) => Math.max(last, to), 0);
  const pumpedUntil = run.phases.findLast(({ phase }) => PUMPED.includes(phase))?.to ?? goneAt;
  return Math.max(0, pumpedUntil - goneAt);
}

function shareOf(view: RunView, line: GasLine, flow: number | null): Share[] {
  const fullScale = view.rules.gases[line]?.fullScaleMolPerS ?? 0;
  return flow === null || fullScale <= 0 ? [] : [{ line, share: flow / fullScale }];
}
