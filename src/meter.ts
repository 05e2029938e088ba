/**
 * A machine's own meter, which can be cleared, set, put back from a backup, and wraps. What it gained is only known step by step.
 * [ME1] From one reading to the next it gained new minus old, when that is not below zero and no more than the time gone by (5 % and one tick
 *       over), or, for a count, no more than so many a minute.
 * [ME2] A fall is a reset: it gained the new value, if that is no more than could be gained since; else what it gained is not known.
 * [ME3] A fall below zero from near 32767 of its own ticks is a 16-bit wrap: it went on counting.
 * [ME4] A jump too large was set, or put back from a backup: it counts as nothing gained, and what it gained is not known.
 * (Trade practice; no standard.)
 */
type MeterReading = { readonly at: number; readonly value: number };
export const METER_EVENTS = ['reset', 'set', 'wrapped'] as const;
type MeterEvent = { readonly at: number; readonly kind: (typeof METER_EVENTS)[number]; readonly from: number; readonly to: number };
export type MeterGain = {
  /** What it certainly gained, in its unit. */
  readonly gained: number;
  /** False where a reset or a setting hides some of it. */
  readonly isWhole: boolean;
  readonly events: readonly MeterEvent[];
};
/** The most it can gain in a time; `ticks`: the sizes its last digit may have, for wraps. */
export type MeterKind = { readonly most: (elapsedMs: number) => number; readonly ticks: readonly number[] };

const TOLERANCE = 1.05;
const WRAP_TICKS = 65_536;

/** Hours, told in seconds; its last digit may be an hour, a tenth, a minute or a hundredth. */
export const HOUR_METER: MeterKind = { most: (elapsedMs) => (TOLERANCE * elapsedMs) / 1000 + 3600, ticks: [3600, 360, 60, 36] };
/** Cycles: no batch chamber does more than one in two minutes. */
export const CYCLE_METER: MeterKind = { most: (elapsedMs) => Math.ceil(elapsedMs / 120_000) + 1, ticks: [1] };

/** [ME1]-[ME4] `readings` ascending in time. */
export function meterGain(readings: readonly MeterReading[], kind: MeterKind): MeterGain {
  let [gained, isWhole] = [0, true];
  const events: MeterEvent[] = [];
  readings.forEach((now, i) => {
    const before = readings[i - 1];
    if (before === undefined) return;
    const step = meterStep(before, now, kind);
    gained += step.gained ?? 0;
    isWhole &&= step.gained !== null;
    if (step.event !== null) events.push({ at: now.at, kind: step.event, from: before.value, to: now.value });
  });
  return { gained, isWhole, events };
}

type Step = { readonly gained: number | null; readonly event: MeterEvent['kind'] | null };

function meterStep(before: MeterReading, now: MeterReading, kind: MeterKind): Step {
  const most = kind.most(now.at - before.at);
  const change = now.value - before.value;
  if (change >= 0) return change <= most ? { gained: change, event: null } : { gained: null, event: 'set' };
  const wrapped =
    now.value < 0 ? kind.ticks.map((tick) => change + WRAP_TICKS * tick).find((gain) => gain >= 0 && gain <= most) : undefined;
  if (wrapped !== undefined) return { gained: wrapped, event: 'wrapped' };
  return { gained: now.value >= 0 && now.value <= most ? now.value : null, event: 'reset' };
}
