/**
 * What deviated in a run, in plain words with its size and its limit. Neither a verdict on the boards nor a diagnosis.
 * [DV1] A flow or the forward power outside its band for longer than 10 s on end (out-of-band.ts).
 * [DV2] Delivered energy under 97 % or over 103 % of set point times time.
 * [DV3] A step shorter than 98 % of its time in the recipe (and by more than a second).
 * [DV4] Reflected power above 3 % of forward for 30 s or more of settled plasma.
 * [DV5] Plasma that certainly took longer than 10 s to light (shorter delays are the drift chart's); three dropouts, or more than 2 % of plasma time without it.
 * [DV6] Gas not in its band when RF came, or stabilised for less than 10 s.
 * [DV7] Lowest pressure before gas above the chamber's base pressure.
 * [DV8] Pumped for less time after the last fluorinated gas than the chamber's shortest purge: as measured, or, where a hole or a standstill hides that, as
 *       the process check told while it was vented (finding.ts [FN1]).
 * [DV9] Time of the run that nobody observed.
 * (Limits: trade practice, no source. What is not known deviates from nothing.)
 */
import type { Span } from './calendar.ts';
import { usualOf } from './held-pieces.ts';
import { isWorthTelling, LONGEST_OUT_MS } from './out-of-band.ts';
import type { Deviation, DeviationCode, RunRecord } from './run-facts.ts';
import { kindOf } from './run-gas.ts';
import type { RunView } from './run-record-input.ts';
import type { Bands } from './run-record-stretch.ts';
import type { Dropout, Ignition } from './run-rf.ts';
import { TORR_PA } from './units.ts';

const ENERGY_LIMITS = { low: 0.97, high: 1.03 } as const;
const STEP_SHARE = 0.98;
const REFLECTED_HIGH_MS = 30_000;
const SLOW_IGNITION_MS = 10_000;
const MOST_DROPOUTS = 2;
const MOST_OUT_SHARE = 0.02;
const SHORTEST_STABILISATION_MS = 10_000;

/** Everything found out about a run before it is judged. */
export type Findings = {
  readonly view: RunView;
  readonly record: Omit<RunRecord, 'deviations'>;
  readonly bands: Bands;
  readonly ignitions: readonly Ignition[];
  readonly dropouts: readonly Dropout[] | null;
  readonly energyShare: number | null;
  readonly reflectedHighMs: number;
  /** Pumped after the last fluorinated gas; null where none flowed, or nobody knows. */
  readonly purgedMs: number | null;
};

export const deviations = (found: Findings): readonly Deviation[] =>
  [flowOut, powerOut, energy, steps, reflectedHigh, ignition, dropped, gas, base, purge, seen].flatMap((rule) => rule(found));

const told = (code: DeviationCode, text: string, step: number | null = null): Deviation => ({ code, text, step });
const percent = (share: number): string => `${(100 * share).toFixed(1)} %`;
const seconds = (ms: number): string => `${(ms / 1000).toFixed(ms < 9_950 ? 1 : 0)} s`;
const inTorr = (pa: number): string => `${((1000 * pa) / TORR_PA).toFixed(0)} mTorr (${pa.toFixed(1)} Pa)`;
const longest = (spans: readonly Span[]): Span | undefined =>
  spans.filter(isWorthTelling).toSorted((a, b) => b.to - b.from - (a.to - a.from))[0];

function stepAt({ plasma }: RunView, at: number): number | null {
  return plasma.find(({ from, to }) => at >= from && at < to)?.step ?? null;
}

const inStep = (step: number | null): string => (step === null ? '' : ` in plasma step ${step}`);

/** [DV1] */
function flowOut({ view, bands }: Findings): Deviation[] {
  return [...bands.flow].flatMap(([line, { out }]) => {
    const worst = longest(out);
    if (worst === undefined) return [];
    const step = stepAt(view, worst.from);
    const text = `${kindOf(view, line)} flow out of its band for ${seconds(worst.to - worst.from)} on end${inStep(step)}, limit ${seconds(LONGEST_OUT_MS)}`;
    return [told('flow-out-of-band', text, step)];
  });
}

/** [DV1] */
function powerOut({ view, bands }: Findings): Deviation[] {
  const worst = longest(bands.power.out);
  if (worst === undefined) return [];
  const step = stepAt(view, worst.from);
  const lasted = seconds(worst.to - worst.from);
  return [
    told(
      'power-out-of-band',
      `forward power more than 3 % off its set point for ${lasted} on end${inStep(step)}, limit ${seconds(LONGEST_OUT_MS)}`,
      step,
    ),
  ];
}

/** [DV2] */
function energy({ energyShare: share }: Findings): Deviation[] {
  if (share === null || (share >= ENERGY_LIMITS.low && share <= ENERGY_LIMITS.high)) return [];
  const low = share < ENERGY_LIMITS.low;
  const text = `delivered RF energy ${percent(share)} of set point times time once lit and matched, limits 97 to 103 %`;
  return [told(low ? 'energy-low' : 'energy-high', text)];
}

/** [DV3] A step that was broken by a hold counts as one. */
function steps({ view }: Findings): Deviation[] {
  const lasted = Map.groupBy(view.plasma, ({ step }) => step);
  return [...lasted].flatMap(([step, spans]) => {
    const ms = spans.reduce((sum, { from, to }) => sum + to - from, 0);
    const wanted = usualOf(spans.flatMap((span) => view.pieces('recipe.stepDuration', span)).filter(({ value }) => value > 0));
    if (wanted === null || ms >= STEP_SHARE * 1000 * wanted - 1_000) return [];
    return [told('step-short', `plasma step ${step ?? ''} lasted ${seconds(ms)} of the recipe’s ${seconds(1000 * wanted)}`, step)];
  });
}

/** [DV4] */
function reflectedHigh({ reflectedHighMs: ms }: Findings): Deviation[] {
  return ms < REFLECTED_HIGH_MS
    ? []
    : [told('reflected-high', `reflected power above 3 % of forward for ${seconds(ms)} of settled plasma`)];
}

/** [DV5] */
function ignition({ ignitions }: Findings): Deviation[] {
  return ignitions.flatMap(({ delayMs, darkMs, step, lit }) => {
    if (delayMs === null || darkMs === null || darkMs <= SLOW_IGNITION_MS) return [];
    const text = lit
      ? `plasma lit ${seconds(delayMs)} after the call for RF, limit ${seconds(SLOW_IGNITION_MS)}`
      : `plasma did not light in ${seconds(delayMs)}`;
    return [told('ignition-slow', text, step)];
  });
}

/** [DV5] */
function dropped({ view, dropouts }: Findings): Deviation[] {
  if (dropouts === null || dropouts.length === 0) return [];
  const ms = dropouts.reduce((sum, { from, to }) => sum + to - from, 0);
  const plasmaMs = view.plasma.reduce((sum, { from, to }) => sum + to - from, 0);
  if (dropouts.length <= MOST_DROPOUTS && ms <= MOST_OUT_SHARE * plasmaMs) return [];
  return [
    told(
      'rf-dropouts',
      `plasma out ${dropouts.length === 1 ? 'once' : `${dropouts.length} times`}, ${seconds(ms)} in all`,
      dropouts[0]?.step ?? null,
    ),
  ];
}

/** [DV6] */
function gas({ record: { stableBeforeRf, stabilisationMs } }: Findings): Deviation[] {
  if (stableBeforeRf === false) return [told('gas-not-stable', 'a gas flow was not in its band when RF came on')];
  const isShort = stabilisationMs !== null && stabilisationMs < SHORTEST_STABILISATION_MS;
  return isShort ? [told('gas-not-stable', `gas flowed only ${seconds(stabilisationMs)} before RF came on, least 10 s`)] : [];
}

/** [DV7] */
function base({ view, record: { basePressurePa } }: Findings): Deviation[] {
  const limit = view.rules.basePressurePa;
  if (basePressurePa === null || basePressurePa <= limit) return [];
  return [told('base-not-reached', `lowest pressure before gas ${inTorr(basePressurePa)}, base pressure is ${inTorr(limit)}`)];
}

/** [DV8] */
function purge({ view, purgedMs }: Findings): Deviation[] {
  const least = view.rules.shortestPurgeMs;
  if (purgedMs !== null && purgedMs < least)
    return [told('purge-short', `pumped ${seconds(purgedMs)} after the last fluorinated gas, least ${seconds(least)}`)];
  const check = view.findings.find(({ code }) => code === 'purge-short');
  return check === undefined ? [] : [told('purge-short', `told while it was vented: ${check.text}`)];
}

/** [DV9] */
function seen({ record: { coverage } }: Findings): Deviation[] {
  return coverage >= 1 ? [] : [told('not-fully-observed', `${percent(coverage)} of the run was observed`)];
}
