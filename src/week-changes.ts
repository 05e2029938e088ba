/**
 * What people changed in a week, for the page that must say what its numbers rest on.
 * [WC1] A reason entry is listed at the time it tells of, with who told it; one taken back is listed as taken back. Newest first.
 */
import type { Span } from './calendar.ts';
import type { ReasonRow } from './contract.ts';
import type { WeekChange } from './numbers.ts';
import { HOUR_MS, MINUTE_MS } from './zone.ts';

/** [WC1] */
export function weekChanges(rows: readonly ReasonRow[], { from, to }: Span): readonly WeekChange[] {
  return rows
    .filter((row) => row.from < to && (row.until ?? Infinity) > from)
    .sort((a, b) => b.from - a.from)
    .map(({ chamber, from: at, ...row }) => ({ at, chamber, text: textOf({ at, ...row }) }));
}

type Told = Pick<ReasonRow, 'state' | 'reason' | 'until' | 'by' | 'withdrawnBy'> & { readonly at: number };

function textOf({ at, state, reason, until, by, withdrawnBy }: Told): string {
  const length = until === null ? 'still on' : lengthText(until - at);
  const back = withdrawnBy === null ? '' : `; taken back by ${withdrawnBy}`;
  return `${reason} (${state.replace('-', ' ')}), ${length}, told by ${by}${back}`;
}

const lengthText = (ms: number): string => (ms < 2 * HOUR_MS ? `${Math.round(ms / MINUTE_MS)} min` : `${(ms / HOUR_MS).toFixed(1)} h`);
