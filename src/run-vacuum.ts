/**
 * Vacuum of one run: the parts of its pump-down, the lowest pressure before gas, the pressure in plasma, and the rise of a leak test.
 * [RV1] A pump-down is split at 1.9 and 0.3 Torr (pump-down.ts); its tail and its total end when the sequence went on, with gas, plasma or a leak test.
 *       One that did not go on has no tail and no total.
 * [RV2] Base pressure is the lowest seen before gas came; of a pump-down that was not wholly seen it is not known.
 * [RV3] Pressure in plasma is the median of the longest step from 15 s after it began; a hole inside refuses it.
 * [RV4] Purge is the time pumped after plasma, vent the time to atmosphere; of a stretch whose begin or end fell into a hole neither is known.
 */
import type { Span } from './calendar.ts';
import type { PhaseSpan } from './event.ts';
import { isWhole, leastOf, medianOf, samplesIn } from './held-pieces.ts';
import { pumpDownParts } from './pump-down.ts';
import type { RunRecord } from './run-facts.ts';
import type { RunView } from './run-record-input.ts';
import { rateOfRise } from './vacuum.ts';

const SETTLED_MS = 15_000;
/** Below any chamber's base: only the marks above it are wanted. */
const NO_BASE_PA = 0;

/** [RV1] */
export function pumpDown(view: RunView): RunRecord['pumpDown'] {
  const { phases } = view.run;
  const stretch = firstPumpDown(view);
  if (stretch === null) return { firstMs: null, middleMs: null, tailMs: null, totalMs: null };
  const pressurePa = samplesIn(view.samples('chamber.pressure'), stretch).filter((sample) => sample.at <= stretch.to);
  const { firstMs, middleMs } = pumpDownParts({ startAt: stretch.from, pressurePa, sampling: 'on-change' }, NO_BASE_PA);
  const next = phases[phases.indexOf(stretch) + 1];
  const wentOn = next !== undefined && ['gas-stabilisation', 'plasma', 'leak-test'].includes(next.phase) && next.source !== 'gap';
  const totalMs = wentOn ? stretch.to - stretch.from : null;
  const tailMs = totalMs === null || firstMs === null || middleMs === null ? null : totalMs - firstMs - middleMs;
  return { firstMs, middleMs, tailMs, totalMs };
}

/** The one that the run began with, if its begin was seen. */
function firstPumpDown({ run }: RunView): PhaseSpan | null {
  const first = run.phases[0];
  return first?.phase === 'pump-down' && first.source !== 'gap' ? first : null;
}

/** [RV2] */
export function basePressurePa(view: RunView): number | null {
  const stretch = firstPumpDown(view);
  if (stretch === null) return null;
  const pieces = view.pieces('chamber.pressure', stretch);
  return isWhole(pieces, stretch) ? leastOf(pieces) : null;
}

/** [RV3] */
export function plasmaPressurePa(view: RunView): number | null {
  const longest = view.plasma.reduce((best: PhaseSpan | null, span) => (best === null || lasts(span) > lasts(best) ? span : best), null);
  const settled = longest && { from: longest.from + SETTLED_MS, to: longest.to };
  if (settled === null || settled.to <= settled.from) return null;
  const pieces = view.pieces('chamber.pressure', settled);
  return isWhole(pieces, settled) ? medianOf(pieces) : null;
}

const lasts = ({ from, to }: Span): number => to - from;

/** [RV4] */
export const purgeMs = (view: RunView): number | null => timeIn(view, 'purge');
export const ventMs = (view: RunView): number | null => timeIn(view, 'vent');

function timeIn({ run: { phases } }: RunView, phase: 'purge' | 'vent'): number | null {
  const own = phases.filter((span) => span.phase === phase);
  const seen = own.every((span) => span.source !== 'gap' && phases[phases.indexOf(span) + 1]?.source !== 'gap');
  return own.length === 0 || !seen ? null : own.reduce((sum, span) => sum + lasts(span), 0);
}

/** Of a leak test, by vacuum.ts [VA1]. */
export function riseOfLeakTest(view: RunView): number | null {
  const test = view.run.phases.find(({ phase }) => phase === 'leak-test');
  if (test === undefined || !isWhole(view.pieces('chamber.pressure', test), test)) return null;
  const told = view.samples('chamber.pressure').filter(({ at, value }) => value !== null && at >= test.from && at < test.to);
  const samples = told.map(({ at, value }) => ({ atS: (at - test.from) / 1000, value: value as number }));
  return rateOfRise(samples, 1)?.risePaPerS ?? null;
}
