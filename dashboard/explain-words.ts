/** An explanation's amounts and times as the panel shows them, and where each of its rows leads. */
import type { Evidence, Explanation, Term } from '../src/explanation.ts';
import { MISSING } from './format.ts';

const HOUR_MS = 3_600_000;
const MINUTE_MS = 60_000;

export function amount(value: number | null, unit: Explanation['unit']): string {
  if (value === null) return MISSING;
  switch (unit) {
    case 'share':
      return `${(100 * value).toFixed(2)}\u00a0%`;
    case 'ms':
      return Math.abs(value) >= HOUR_MS ? `${(value / HOUR_MS).toFixed(2)}\u00a0h` : `${(value / MINUTE_MS).toFixed(1)}\u00a0min`;
    case 'per 10 min':
      return value.toFixed(3);
    default:
      return Number.isInteger(value) ? String(value) : value.toFixed(1);
  }
}

export type Bar = {
  readonly label: string;
  readonly width: number;
  readonly text: string;
  readonly count: number;
  readonly state: string | null;
};

/** The parts of a term as bars of its whole. */
export function bars({ amount: whole, parts, unit }: Term): Bar[] {
  return parts.map((part) => ({
    label: part.label,
    width: whole > 0 ? part.amount / whole : 0,
    text: amount(part.amount, unit),
    count: part.count,
    state: part.state,
  }));
}

/** What a row adds to the number: one event, or the time that counts of it, which need not be how long it lasted. */
export const adds = ({ amount: added }: Evidence): string => (added === 1 ? '1' : amount(added, 'ms'));

/** The chamber's page in the middle of what is meant, or of its first half hour where it is longer. */
export function placeOf({ chamber, from, to }: Evidence): string {
  return `/chamber/${encodeURIComponent(chamber)}?at=${Math.round(from + Math.min(to - from, 30 * MINUTE_MS) / 2)}`;
}
