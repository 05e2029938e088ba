/**
 * Numbers as a sheet says them: times of the site, durations with their unit, percentages without false decimals, quantities in the site's
 * units. Missing is a dash, never a zero. Percentages read as on the screen (tests hold them equal).
 */
import type { MeanFigure } from '../../src/kpi.ts';
import { MISSING, percent, wholePercent, type Bounded } from '../../src/share-words.ts';
import { fromSi, isUnit, unitSymbol } from '../../src/units.ts';
import { HOUR_MS, MINUTE_MS } from '../../src/zone.ts';

export { MISSING, percent, shareText } from '../../src/share-words.ts';
export { stateWord } from '../../src/state-words.ts';
export { clock, clockSeconds, date, day, dayTime, stamp } from '../../src/zone-words.ts';

/** Empty where the bounds do not differ in whole percents. */
export function boundsText({ low, high }: Bounded): string {
  return low === null || high === null || wholePercent(low) === wholePercent(high)
    ? ''
    : `${wholePercent(low)}\u00a0to\u00a0${percent(high)}`;
}

export const hours = (ms: number | null, digits = 1): string => {
  if (ms === null) return MISSING;
  const amount = (ms / HOUR_MS).toFixed(digits);
  return ms > 0 && Number(amount) === 0 ? `<\u00a00.1\u00a0h` : `${amount}\u00a0h`;
};
export const minutes = (ms: number | null): string => (ms === null ? MISSING : (ms / MINUTE_MS).toFixed(1));
export const seconds = (ms: number | null, digits = 0): string => (ms === null ? MISSING : `${(ms / 1000).toFixed(digits)} s`);
export const number = (value: number | null, digits = 0): string => (value === null ? MISSING : value.toFixed(digits));
export const counted = (n: number, one: string, many = `${one}s`): string => `${n} ${n === 1 ? one : many}`;

/** Minutes and seconds: 2:05, and with hours from one hour on: 1:02:05. */
export function stopwatch(ms: number | null): string {
  if (ms === null) return MISSING;
  const s = Math.max(0, Math.round(ms / 1000));
  const tail = `${String(Math.floor(s / 60) % 60).padStart(s < 3600 ? 1 : 2, '0')}:${String(s % 60).padStart(2, '0')}`;
  return s < 3600 ? tail : `${Math.floor(s / 3600)}:${tail}`;
}

/** As many digits as three figures need: 0.123, 12.3, 1230. */
export function figures(value: number | null): string {
  if (value === null || !Number.isFinite(value)) return MISSING;
  const size = Math.abs(value);
  const digits = size >= 100 || size === 0 ? 0 : size >= 10 ? 1 : size >= 1 ? 2 : 3;
  return value.toFixed(digits);
}

/** An SI value in the site's unit, the number alone. */
export const inUnit = (si: number | null, unit: string): string => figures(si === null || !isUnit(unit) ? si : fromSi(si, unit));
export const unitSign = (unit: string): string => (isUnit(unit) ? unitSymbol(unit) : unit);

/** A mean time or count between events with what its count allows to say: never infinite, never bare. */
export function meanText(figure: MeanFigure): string {
  const unit = figure.unit === 'ms' ? (ms: number | null) => (ms === null ? MISSING : hours(ms)) : (n: number | null) => number(n);
  const noun = figure.unit === 'ms' ? '' : ' cycles';
  if (figure.estimate === null) return figure.low === null ? MISSING : `at least ${unit(figure.low)}${noun}`;
  const { low, high } = figure;
  const bounds =
    low === null && high === null
      ? ''
      : ` (${low === null ? '' : bare(low, figure)}${high === null ? ' or more' : ` to ${bare(high, figure)}`})`;
  return `${unit(figure.estimate)}${noun}${bounds}`;
}

const bare = (value: number, { unit }: MeanFigure): string => (unit === 'ms' ? (value / HOUR_MS).toFixed(1) : value.toFixed(0));
