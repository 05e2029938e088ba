/**
 * Values as people read them: clock times of the site, durations with their unit always written, percentages without false decimals,
 * pressure and flow in the site's units. Missing is a dash, never a zero.
 */
import type { Phase } from '../src/equipment.ts';
import { PHASE_WORDS } from '../src/phase-words.ts';
import { MISSING, percent, wholePercent, type Bounded } from '../src/share-words.ts';
import { clock, day, dayMonth, weekday } from '../src/zone-words.ts';

export { MISSING, percent, shareText } from '../src/share-words.ts';
export { stateWord } from '../src/state-words.ts';
export { clock, clockSeconds, day, dayMonth } from '../src/zone-words.ts';

/** A clock time, with its day when that is not today's. */
export function clockOrDay(at: number, now: number, zone: string): string {
  return day(at, zone) === day(now, zone) ? clock(at, zone) : `${day(at, zone)} ${clock(at, zone)}`;
}

const HOUR_MS = 3_600_000;

/** As short as it can be without being mistaken: 23:50, Mon 18:30, 15 Nov. */
export function shortTime(at: number, now: number, zone: string): string {
  const farMs = Math.abs(now - at);
  if (farMs < 20 * HOUR_MS) return clock(at, zone);
  if (farMs < 6 * 24 * HOUR_MS) return `${weekday(at, zone)} ${clock(at, zone)}`;
  return dayMonth(at, zone);
}

export type Duration = { readonly amount: string; readonly unit: string };

/** A duration for a wall: one or two numbers and a unit. Whole minutes, because the estimates behind it are no finer. */
export function duration(ms: number): Duration {
  const seconds = Math.max(0, Math.floor(ms / 1000));
  if (seconds < 60) return { amount: String(seconds), unit: 's' };
  const minutes = Math.floor(seconds / 60);
  if (minutes < 120) return { amount: String(minutes), unit: 'min' };
  const hours = Math.floor(minutes / 60);
  if (hours < 10) return { amount: `${hours}:${String(minutes % 60).padStart(2, '0')}`, unit: 'h' };
  return hours < 100 ? { amount: String(hours), unit: 'h' } : { amount: String(Math.floor(hours / 24)), unit: 'days' };
}

export function durationText(ms: number): string {
  const { amount, unit } = duration(ms);
  return `${amount} ${unit}`;
}

/** Minutes and seconds of a phase: 2:05. */
export function stopwatch(ms: number): string {
  const seconds = Math.max(0, Math.round(ms / 1000));
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, '0')}`;
}

/** Empty where the bounds do not differ in whole percents. */
export function boundsText({ low, high }: Bounded): string {
  if (low === null || high === null || wholePercent(low) === wholePercent(high)) return '';
  return `between ${percent(low)} and ${percent(high)}`;
}

export const hours = (ms: number | null): string => (ms === null ? MISSING : `${(ms / HOUR_MS).toFixed(1)} h`);
/** A little is not called nothing. */
export const wholeHours = (ms: number | null): string =>
  ms === null ? MISSING : ms > 0 && ms < HOUR_MS / 2 ? '< 1 h' : `${Math.round(ms / HOUR_MS)} h`;
export const minutes = (ms: number): string => (ms / 60_000).toFixed(1);
export const number = (value: number | null, digits = 0): string => (value === null ? MISSING : value.toFixed(digits));
/** The word that goes with a count. */
export const noun = (n: number | null, one: string, many = `${one}s`): string => (n === 1 ? one : many);
export const count = (n: number, one: string, many = `${one}s`): string => `${n} ${noun(n, one, many)}`;

/** 'plasma 2 of 3'. */
export function phaseWord(phase: Phase, step: number | null = null, stepCount: number | null = null): string {
  if (phase !== 'plasma' || step === null) return PHASE_WORDS[phase];
  return stepCount === null ? `plasma ${step}` : `plasma ${step}/${stepCount}`;
}
