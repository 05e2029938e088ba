/** An explanation's amounts and times as the panel shows them, and where each of its rows leads. */
import { amountText } from '../src/explain-words.ts';
import type { AmountUnit, Evidence, Explanation, Term } from '../src/explanation.ts';
import { MISSING } from './format.ts';

const MINUTE_MS = 60_000;

/** A number and its unit stay on one line. */
export const amount = (value: number | null, unit: AmountUnit, units: Explanation['units']): string =>
  value === null ? MISSING : amountText(value, unit, units).replaceAll(' ', '\u00a0');

export type Bar = {
  readonly label: string;
  readonly width: number;
  readonly text: string;
  readonly count: number;
  readonly state: string | null;
};

/** The parts of a term as bars of its whole. */
export function bars({ amount: whole, parts, unit }: Term, units: Explanation['units']): Bar[] {
  return parts.map((part) => ({
    label: part.label,
    width: whole > 0 ? part.amount / whole : 0,
    text: amount(part.amount, unit, units),
    count: part.count,
    state: part.state,
  }));
}

/** What a row adds to the number, or what it measured. */
export const adds = ({ amount: added }: Evidence, { madeOfUnit, units }: Explanation): string =>
  added === null ? '' : amount(added, madeOfUnit, units);

/** The chamber's page in the middle of what is meant, or of its first half hour where it is longer; of the fleet, its week. */
export function placeOf({ chamber, from, to, text }: Evidence): string {
  if (chamber === null) return `/week/${encodeURIComponent(text)}`;
  return `/chamber/${encodeURIComponent(chamber)}?at=${Math.round(from + Math.min(to - from, 30 * MINUTE_MS) / 2)}`;
}
