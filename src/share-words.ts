/** Shares in words, on screen and on paper alike: percents without false decimals, bounds where too little was seen. Missing is a dash, never a zero. */
import type { Share } from './numbers.ts';

export const MISSING = '–';
/** The sign stays with its number. */
const PERCENT = '\u00a0%';

/** Whole percents; a little is not called nothing and nearly all not all. */
export function percent(share: number | null): string {
  if (share === null) return MISSING;
  if (share > 0 && share < 0.005) return `< 1${PERCENT}`;
  return share < 1 && share >= 0.995 ? `> 99${PERCENT}` : `${wholePercent(share)}${PERCENT}`;
}

export const wholePercent = (share: number): number => Math.round(share * 100);

export type Bounded = Pick<Share, 'value' | 'low' | 'high'>;

/** A share, or where too little was seen to state it, the bounds it must lie in. */
export function shareText({ value, low, high }: Bounded): string {
  if (value !== null || low === null || high === null) return percent(value);
  return `${wholePercent(low)}–${wholePercent(high)}${PERCENT}`;
}
