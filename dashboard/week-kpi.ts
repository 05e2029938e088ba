/** The week's failures, cycles and targets as words and as places on an axis. */
import type { CyclePart, Limit, MeanFigure, TargetLine, Throughput } from '../src/kpi.ts';
import { LIMITS } from '../src/kpi.ts';
import type { Usual } from '../src/numbers.ts';
import { MISSING, percent } from './format.ts';

const HOUR_MS = 3_600_000;
const MINUTE_MS = 60_000;

/** One figure in the unit that reads best, and its bounds in the same. */
export function meanWords({ unit, estimate, low, high }: MeanFigure): { readonly value: string; readonly bounds: string } {
  const scale = unit === 'cycles' ? 1 : (estimate ?? low ?? 0) >= 2 * HOUR_MS ? HOUR_MS : MINUTE_MS;
  const symbol = unit === 'cycles' ? 'runs' : scale === HOUR_MS ? 'h' : 'min';
  const text = (amount: number): string => (amount / scale).toFixed(amount / scale < 10 ? 1 : 0);
  const bounds =
    low === null ? '' : high === null ? `at least ${text(low)}\u00a0${symbol}` : `${text(low)} to ${text(high)}\u00a0${symbol}`;
  return { value: estimate === null ? MISSING : `${text(estimate)}\u00a0${symbol}`, bounds };
}

export type Place = { readonly low: number; readonly high: number; readonly value: number | null; readonly isOpen: boolean };

/** A figure on a logarithmic axis of 0..1, shared by its column; an open upper bound reaches the end. */
export function meanPlace({ estimate, low, high }: MeanFigure, axis: Axis): Place | null {
  if (low === null) return null;
  const at = (amount: number): number => Math.min(1, Math.max(0, Math.log(amount / axis.from) / Math.log(axis.to / axis.from)));
  return { low: at(low), high: high === null ? 1 : at(high), value: estimate === null ? null : at(estimate), isOpen: high === null };
}

export type Axis = { readonly from: number; readonly to: number };

/** Whole decades around all bounds. */
export function meanAxis(figures: readonly MeanFigure[]): Axis {
  const known = figures.flatMap(({ low, high, estimate }) => [low, high, estimate]).filter((one) => one !== null && one > 0) as number[];
  if (known.length === 0) return { from: 1, to: 10 };
  const decade = (amount: number, round: (n: number) => number): number => 10 ** round(Math.log10(amount));
  const [from, to] = [decade(Math.min(...known), Math.floor), decade(Math.max(...known), Math.ceil)];
  return { from, to: to > from ? to : from * 10 };
}

export const LIMIT_WORDS: Readonly<Record<Limit, string>> = {
  plasma: 'plasma',
  sequence: 'pump-down, purge, vent',
  people: 'loading, waiting for unload',
  idle: 'idle between',
  down: 'stopped',
  other: 'other',
};

/** A cycle's kinds of parts side by side, as shares of it. */
export function limitPieces({
  parts,
  cycleMs,
}: Throughput): { readonly limit: Limit; readonly start: number; readonly width: number; readonly ms: number }[] {
  let start = 0;
  return LIMITS.flatMap((limit) => {
    const ms = parts.filter((part) => part.limit === limit).reduce((sum, part) => sum + part.ms, 0);
    const width = cycleMs > 0 ? ms / cycleMs : 0;
    const piece = { limit, start, width, ms };
    start += width;
    return width > 0 ? [piece] : [];
  });
}

/** Where a minute less brings most: the part with the largest gain among those that people or the sequence take. */
export function bestMinute({ parts }: Throughput): CyclePart | null {
  const open = parts.filter(({ limit }) => limit === 'people' || limit === 'sequence');
  return open.sort((a, b) => (b.minuteLoadsPerWeekBusy ?? 0) - (a.minuteLoadsPerWeekBusy ?? 0))[0] ?? null;
}

/** 'usually 14 to 40 h'. */
export function usualText(usual: Usual | null): string {
  if (usual && usual.high < HOUR_MS / 2) return usual.high === 0 ? 'usually none' : 'usually under half an hour';
  return usual ? `usually ${(usual.low / HOUR_MS).toFixed(0)} to ${(usual.high / HOUR_MS).toFixed(0)}\u00a0h` : '';
}

export function targetText({ value, unit }: Pick<TargetLine, 'value' | 'unit'>): string {
  if (value === null) return MISSING;
  if (unit === 'share') return percent(value);
  return unit === 'count' ? String(value) : value.toFixed(value < 10 ? 1 : 0);
}

const ORDER: readonly TargetLine['verdict'][] = ['above manageable', 'above target', 'not known', 'within target'];

/** One measure's own verdict: the worst of the operator positions, named where it is not that of all of them. */
export function measureVerdict(lines: readonly TargetLine[], name: string): string {
  const own = lines.filter((line) => line.name === name);
  const verdict = ORDER.find((one) => own.some((line) => line.verdict === one)) ?? 'not known';
  const worst = own.filter((line) => line.verdict === verdict);
  if (worst.length === own.length) return verdict;
  return `${verdict} at ${worst.length === 1 ? worst[0]?.position : `${worst.length} of ${own.length} positions`}`;
}

/** '2 of 9 targets missed', of those that are known. */
export function missedText(lines: readonly TargetLine[]): string {
  const known = lines.filter(({ verdict }) => verdict !== 'not known');
  const missed = known.filter(({ verdict }) => verdict !== 'within target').length;
  return known.length === 0 ? '' : `${missed} of ${known.length} alarm targets missed`;
}
