/**
 * Values as people read them: clock times of the site, durations with their unit always written, percentages without false decimals,
 * pressure and flow in the site's units. Missing is a dash, never a zero.
 */
import type { EquipmentState, Phase } from '../src/equipment.ts';
import { PHASE_WORDS } from '../src/phase-words.ts';
import { MISSING, percent, wholePercent, type Bounded } from '../src/share-words.ts';

export { MISSING, percent, shareText } from '../src/share-words.ts';

const formats = new Map<string, Intl.DateTimeFormat>();

function siteFormat(zone: string, parts: Intl.DateTimeFormatOptions): Intl.DateTimeFormat {
  const key = `${zone} ${JSON.stringify(parts)}`;
  const known = formats.get(key);
  if (known) return known;
  const made = new Intl.DateTimeFormat('en-GB', { timeZone: zone, hourCycle: 'h23', ...parts });
  formats.set(key, made);
  return made;
}

const hourMinute = { hour: '2-digit', minute: '2-digit' } as const;

export const clock = (at: number, zone: string): string => siteFormat(zone, hourMinute).format(at);
export const clockSeconds = (at: number, zone: string): string => siteFormat(zone, { ...hourMinute, second: '2-digit' }).format(at);
export const dayMonth = (at: number, zone: string): string => siteFormat(zone, { day: 'numeric', month: 'short' }).format(at);
export const day = (at: number, zone: string): string => siteFormat(zone, { weekday: 'short', day: 'numeric', month: 'short' }).format(at);

/** A clock time, with its day when that is not today's. */
export function clockOrDay(at: number, now: number, zone: string): string {
  return day(at, zone) === day(now, zone) ? clock(at, zone) : `${day(at, zone)} ${clock(at, zone)}`;
}

const HOUR_MS = 3_600_000;

/** As short as it can be without being mistaken: 23:50, Mon 18:30, 15 Nov. */
export function shortTime(at: number, now: number, zone: string): string {
  const farMs = Math.abs(now - at);
  if (farMs < 20 * HOUR_MS) return clock(at, zone);
  if (farMs < 6 * 24 * HOUR_MS) return `${siteFormat(zone, { weekday: 'short' }).format(at)} ${clock(at, zone)}`;
  return siteFormat(zone, { day: 'numeric', month: 'short' }).format(at);
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

const STATE_WORDS: Record<EquipmentState, string> = {
  productive: 'Productive',
  standby: 'Standby',
  engineering: 'Engineering',
  'scheduled-downtime': 'Scheduled downtime',
  'unscheduled-downtime': 'Unscheduled downtime',
  nonscheduled: 'Nonscheduled',
  unobserved: 'Unobserved',
};

export const stateWord = (state: EquipmentState): string => STATE_WORDS[state];
