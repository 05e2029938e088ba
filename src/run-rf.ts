/**
 * RF of one run: when plasma burned, how long it took to light, how often it went out, what was delivered and what came back.
 * [RU1] Plasma burns from when reflected power stayed under 30 % of forward for 1 s until RF is off or it stayed above 60 % for 2 s; where
 *       reflected power is not told, while RF is on.
 * [RU2] Ignition delay runs from the call for RF (where that is not told: from RF on) to plasma burning, once per call. Not known when the call's
 *       begin was not seen. It burned some time after it was last seen dark: that part of the delay is certain.
 * [RU3] A dropout is plasma gone for more than 0.5 s inside a step in which it had burned; gone for good counts when 10 s or more of the step were
 *       left. Of values told once a second shorter ones are missed: the count is a lower bound.
 * [RU4] Nominal energy is the set point over each step, from the first call for RF in it: a pause of the recipe asks for nothing.
 *       The share of it that was delivered is judged without the time up to 15 s after the first ignition of each step, when power ramps and the
 *       match still moves; less than 30 s of the rest is not judged.
 * [RU5] Reflected fraction is reflected over forward energy in plasma, from 15 s after each ignition.
 * (Thresholds: trade practice, no source.)
 */
import type { Span } from './calendar.ts';
import { heldPieces, isWhole, lengthMs, paired, samplesIn, spansWhere, type Pair, type Piece } from './held-pieces.ts';
import { integral } from './integral.ts';
import { rfOnSpans, RF_ON_SHARE } from './out-of-band.ts';
import { deliveredEnergy, reflection } from './rf.ts';
import type { RunView } from './run-record-input.ts';

const LIT_BELOW = 0.3;
const LIT_AFTER_MS = 1_000;
const OUT_ABOVE = 0.6;
const OUT_AFTER_MS = 2_000;
const SHORTEST_DROPOUT_MS = 500;
const GONE_FOR_GOOD_MS = 10_000;
/** A pause of a recipe without a told call for RF (phase.ts takes the same). */
const LONGEST_PAUSE_MS = 20_000;
export const MATCHED_MS = 15_000;
/** Less plasma than this says nothing about its energy. */
const SHORTEST_JUDGED_MS = 30_000;

export type Ignition = {
  readonly at: number;
  readonly step: number | null;
  readonly delayMs: number | null;
  /** Until it was last seen dark. */
  readonly darkMs: number | null;
  readonly lit: boolean;
};
export type Dropout = Span & { readonly step: number | null };

/** [RU1] */
export function litSpans(view: RunView): readonly Span[] {
  if (!view.has('rf.reflected')) return rfOnSpans(view);
  const forward = view.pieces('rf.forward', view.whole);
  const pairs = paired(forward, view.pieces('rf.reflected', view.whole));
  const floor = RF_ON_SHARE * view.rules.rfMaxW;
  return burning(pairs, (pair) => (pair.a < floor ? Infinity : pair.b / pair.a));
}

/** [RU1] A hole ends what is known to burn. */
function burning(pairs: readonly Pair[], reflectedShare: (pair: Pair) => number): readonly Span[] {
  const spans: Span[] = [];
  let litAt: number | null = null;
  let lowAt: number | null = null;
  let highAt: number | null = null;
  let known: number | null = null;
  const end = (at: number): void => {
    if (litAt !== null) spans.push({ from: litAt, to: at });
    litAt = lowAt = highAt = null;
  };
  for (const pair of pairs) {
    if (known !== null && pair.from > known) end(known);
    known = pair.to;
    const share = reflectedShare(pair);
    if (litAt === null) {
      lowAt = share < LIT_BELOW ? (lowAt ?? pair.from) : null;
      if (lowAt !== null && pair.to - lowAt >= LIT_AFTER_MS) litAt = lowAt;
    } else if (share === Infinity) end(highAt ?? pair.from);
    else {
      highAt = share > OUT_ABOVE ? (highAt ?? pair.from) : null;
      if (highAt !== null && pair.to - highAt >= OUT_AFTER_MS) end(highAt);
    }
  }
  if (known !== null) end(known);
  return spans;
}

/** Calls for RF: told by its own signal, else seen as RF on. `seen`: the begin was not hidden. */
function calls(view: RunView): readonly (Span & { readonly seen: boolean })[] {
  const told = view.has('rf.enabled');
  const before = { from: view.whole.from - 1, to: view.whole.to };
  const pieces = view.pieces(told ? 'rf.enabled' : 'rf.forward', before);
  const isOn = ({ value }: Piece): boolean => value >= (told ? 1 : RF_ON_SHARE * view.rules.rfMaxW);
  const off = new Set(pieces.filter((piece) => !isOn(piece)).map(({ to }) => to));
  return spansWhere(pieces, isOn).map((span) => ({ ...span, seen: off.has(span.from) }));
}

/** [RU2] */
export function ignitions(view: RunView, lit: readonly Span[]): readonly Ignition[] {
  return calls(view).flatMap((call): Ignition[] => {
    const stretch = view.plasma.find(({ from, to }) => call.to > from && call.from < to);
    if (stretch === undefined) return [];
    const first = lit.find((span) => span.from >= call.from && span.from < call.to);
    const litAt = first?.from ?? call.to;
    const [delayMs, darkMs] = call.seen ? [litAt - call.from, Math.max(0, lastSeenBefore(view, litAt) - call.from)] : [null, null];
    return [{ at: call.from, step: stretch.step, delayMs, darkMs, lit: first !== undefined }];
  });
}

/** [RU2] When RF was last told before that moment. */
function lastSeenBefore(view: RunView, at: number): number {
  const told = (['rf.forward', 'rf.reflected'] as const).map(
    (signal) => samplesIn(view.samples(signal), { from: at - 1, to: at })[0]?.at ?? 0,
  );
  return Math.max(...told);
}

/** [RU3] Null when plasma was not seen all the time. */
export function dropouts(view: RunView, lit: readonly Span[]): readonly Dropout[] | null {
  const isSeen = view.plasma.every((stretch) => isWhole(seenRf(view, stretch), stretch));
  if (!isSeen || view.plasma.length === 0) return null;
  return view.plasma.flatMap(({ from, to, step }) => {
    const burned = lit.filter((span) => span.to > from && span.from < to);
    return burned.flatMap((span, i): Dropout[] => {
      const next = burned[i + 1]?.from ?? to;
      const least = burned[i + 1] ? SHORTEST_DROPOUT_MS + 1 : GONE_FOR_GOOD_MS;
      return next - span.to >= least ? [{ from: span.to, to: next, step }] : [];
    });
  });
}

const seenRf = (view: RunView, span: Span): readonly Span[] => {
  const forward = view.pieces('rf.forward', span);
  return view.has('rf.reflected') ? paired(forward, view.pieces('rf.reflected', span)) : forward;
};

/** [RU4] The part of each step for which power was asked. */
function askedSpans(view: RunView): readonly Span[] {
  const called = calls(view);
  const told = view.has('rf.enabled');
  return view.plasma.map(({ from, to }) => {
    const first = called.find((call) => call.to > from && call.from < to)?.from ?? to;
    const pauseMs = Math.max(0, first - from);
    return { from: told ? from + pauseMs : from + Math.min(pauseMs, LONGEST_PAUSE_MS), to };
  });
}

type RunEnergy = { readonly energyJ: number | null; readonly energyKnownJ: number; readonly nominalEnergyJ: number | null };

/** [RU4] Null without plasma, and without one of the two powers. */
export function runEnergy(view: RunView): RunEnergy {
  if (view.plasma.length === 0 || !view.has('rf.forward') || !view.has('rf.reflected'))
    return { energyJ: null, energyKnownJ: 0, nominalEnergyJ: null };
  const all = { from: view.plasma[0]!.from, to: view.plasma.at(-1)!.to };
  const samples = (signal: 'rf.forward' | 'rf.reflected') => samplesIn(view.samples(signal), all);
  const series = { forwardW: samples('rf.forward'), reflectedW: samples('rf.reflected'), sampling: 'on-change' } as const;
  const { energyJ, knownJ } = deliveredEnergy(series, view.plasma);
  return { energyJ, energyKnownJ: knownJ, nominalEnergyJ: nominalJ(view) };
}

/** [RU4] */
function nominalJ(view: RunView): number | null {
  const parts = askedSpans(view).map((span) => integral(samplesIn(view.samples('rf.forwardSetPoint'), span), span, 'on-change').value);
  return parts.reduce((sum, part) => (sum === null || part === null ? null : sum + part), 0 as number | null);
}

/** [RU4] */
export function energyShare(view: RunView, lit: readonly Span[]): number | null {
  const judged = askedSpans(view).flatMap((span) => {
    const first = lit.find(({ from, to }) => to > span.from && from < span.to);
    const from = first === undefined ? span.from : Math.max(span.from, first.from) + MATCHED_MS;
    return from < span.to ? [{ from, to: span.to }] : [];
  });
  if (lengthMs(judged) < SHORTEST_JUDGED_MS) return null;
  const sum = (signal: 'rf.forward' | 'rf.reflected' | 'rf.forwardSetPoint'): number =>
    judged.reduce((total, span) => total + (integral(samplesIn(view.samples(signal), span), span, 'on-change').value ?? NaN), 0);
  const share = (sum('rf.forward') - sum('rf.reflected')) / sum('rf.forwardSetPoint');
  return Number.isFinite(share) ? share : null;
}

/** [RU5] */
export const matchedSpans = (lit: readonly Span[]): readonly Span[] =>
  lit.map(({ from, to }) => ({ from: from + MATCHED_MS, to })).filter(({ from, to }) => to > from);

export type Reflected = { readonly fraction: number | null; readonly vswr: number | null; readonly highMs: number };
export const REFLECTED_HIGH = 0.03;

/** [RU5] `highMs`: how long it was above 3 %. */
export function reflected(view: RunView, lit: readonly Span[]): Reflected {
  const pairs = matchedSpans(lit).flatMap((span) =>
    paired(heldPieces(view.samples('rf.forward'), span), heldPieces(view.samples('rf.reflected'), span)),
  );
  const energy = (of: 'a' | 'b'): number => pairs.reduce((sum, pair) => sum + (pair[of] * (pair.to - pair.from)) / 1000, 0);
  const seenMs = lengthMs(pairs);
  if (seenMs === 0) return { fraction: null, vswr: null, highMs: 0 };
  const floorW = RF_ON_SHARE * view.rules.rfMaxW;
  const seconds = seenMs / 1000;
  const { reflectedFraction, vswr } = reflection({ forwardW: energy('a') / seconds, reflectedW: energy('b') / seconds, floorW });
  return { fraction: reflectedFraction, vswr, highMs: lengthMs(pairs.filter(({ a, b }) => b > REFLECTED_HIGH * a)) };
}
